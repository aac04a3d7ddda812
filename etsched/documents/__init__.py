"""Files that people write, such as the site file: read with care, then handed on as model or refused."""
