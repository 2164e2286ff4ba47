"""What must be said beside a result: light given up, laws mended since."""
