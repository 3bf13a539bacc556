"""The larvae bin, behind `larvaebin.py`: its log as days, who lives in it, and what is coming."""
