"""Sun, seasons, shooting light and session windows."""
