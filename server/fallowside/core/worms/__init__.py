"""The worm bed, behind `bed.py`: its log as days, the days as draws, what they teach and what they show."""
