"""Where weather comes from: one module a source, each delivering the frames of `etsched.frames.weather`."""
