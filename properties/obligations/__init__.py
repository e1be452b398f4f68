"""What members owe: a season's dues and work days; and lists of people entered at once."""
