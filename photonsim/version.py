"""The version of the package, the one place where it stands; pyproject.toml reads it here."""

__version__ = "0.8.1"
