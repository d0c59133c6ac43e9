"""What a wheel did on a ride, from logged travel: motion, shares of time by velocity, events, moments."""
