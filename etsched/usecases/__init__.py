"""What the program does for a person: ports and files in, records out."""
