"""The command line: data on standard output, all else on standard error."""
