"""What people read in a terminal. Draws what it is given; computes nothing."""
