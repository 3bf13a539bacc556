"""Sync: accept what devices send, hold what can't be used, hand out what they haven't seen."""
