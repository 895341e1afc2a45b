"""A site's own files: read, checked, and put together."""
