"""Reminders leave the app: a calendar for each person, messages to their phones, and when to be quiet."""
