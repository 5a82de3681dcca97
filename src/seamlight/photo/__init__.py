"""From a picture file to a flat picture of the wood at a known scale."""
