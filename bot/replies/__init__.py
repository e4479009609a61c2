"""What is done with each thing that a message says, and what is answered to it."""
