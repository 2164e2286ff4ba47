"""Warnings about a scene: values that are no mistakes but look wrong."""
