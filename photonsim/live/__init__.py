"""The live page, on which a lamp is changed and answers at once: its server, model and script."""
