"""Pure composition: the only place that knows the order of the steps."""
