"""The command line: one verb, one subject. It reads arguments and prints; it computes nothing."""
