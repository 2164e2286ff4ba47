"""Designs against each other: pairs, races, and the tables that tell of them."""
