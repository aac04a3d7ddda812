"""The real parts, put together: the clock on the wall, the logs, the files a result goes to."""
