"""Who may do what: one table of role and action, actors, tokens and applications."""
