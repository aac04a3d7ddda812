"""When which job of which property is due, and who does it."""
