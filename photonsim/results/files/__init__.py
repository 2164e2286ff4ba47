"""Results and study tables on disk: written whole, sealed, read with suspicion."""
