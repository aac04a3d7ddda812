"""What people read, as frozen rows: the terminal, CSV, JSON and the page all take their figures from here."""
