"""Frozen values that flow through the program: the site as described, the week as planned."""
