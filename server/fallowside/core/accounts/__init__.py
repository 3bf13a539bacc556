"""The books, behind `tally.py`: moves between accounts, summed, balanced, held against a landfill."""
