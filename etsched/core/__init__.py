"""Pure functions on floats and numpy arrays, one topic a module; no topic knows another."""
