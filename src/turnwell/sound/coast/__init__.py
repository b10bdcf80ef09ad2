"""How the rotor slows down once the air is off: times, decelerations, and the law of the drag."""
