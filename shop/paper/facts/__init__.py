"""What each form says, ready for its template: one file a form or a family of them."""
