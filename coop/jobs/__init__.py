"""Long work as a row with state, progress, lease and attempts; the broker only rings the bell."""
