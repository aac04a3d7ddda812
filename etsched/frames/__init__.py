"""What a weather frame must look like, and how hours become days."""
