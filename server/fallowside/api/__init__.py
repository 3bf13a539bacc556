"""HTTP: thin routers over the rooms below, and the built web app."""
