"""The steps by which a database of an older program becomes one of this program."""
