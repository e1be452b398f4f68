"""What a booked person is told to get there, and the gate codes of the day."""
