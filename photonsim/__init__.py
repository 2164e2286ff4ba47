"""Monte Carlo illumination simulator for home-built projector lamps."""
