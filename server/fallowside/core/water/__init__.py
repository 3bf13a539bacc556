"""The pond, behind `pond.py`: fish, their water and food, the day of a catch, and what is kept of it."""
