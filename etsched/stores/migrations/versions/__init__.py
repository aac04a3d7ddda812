"""One module a step, named by its number; a step that has been published is never changed."""
