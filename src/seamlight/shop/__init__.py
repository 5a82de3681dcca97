"""What is kept: pairs and their leaves, photographs, readings, stages, builds, devices."""
