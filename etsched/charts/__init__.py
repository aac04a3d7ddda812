"""Pictures that people read, as self-contained SVG."""
