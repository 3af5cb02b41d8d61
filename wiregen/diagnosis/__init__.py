"""Finding the fault: every single fault of a job tried on paper, and the readings that tell them apart."""
