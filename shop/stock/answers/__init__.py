"""What is asked of the shelf, one question a file. The door to it is the shelf."""
