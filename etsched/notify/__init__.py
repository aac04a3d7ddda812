"""What goes out on the program's own initiative, and where it may not go."""
