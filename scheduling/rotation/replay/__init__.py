"""A season played over and over under different ways of handing out sits: a simulation."""
