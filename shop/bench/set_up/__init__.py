"""Setting up at the bench: one subject a page, from what was measured to the next cut.

A page records nothing by itself: what is measured is recorded where measures are, and what
is typed here only asks "what if". Each page works with a plain form.
"""
