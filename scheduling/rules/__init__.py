"""Each house rule once: judges a booking and constrains the plan."""
