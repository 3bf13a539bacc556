"""Who may come in: people and their roles, paired phones and their sessions, pairing."""
