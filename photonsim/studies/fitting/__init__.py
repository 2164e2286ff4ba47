"""A scene fitted to readings: the most likely numbers and their limits."""
