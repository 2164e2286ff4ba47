"""What the picture on the screen is like: blur, spots, the stop's light, zones."""
