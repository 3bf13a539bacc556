"""The fold and the models. Standard library only; pure; the same on server and phone."""
