"""The HTTP interface: thin over the use cases, one module a topic."""
