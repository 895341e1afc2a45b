"""Files: the YAML of a site read, with a complaint that names the place."""
