"""What the light at the panel is like: fields, extremes, structure."""
