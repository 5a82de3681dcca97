"""Sound and stiffness: taps to frequencies, frequencies to elastic constants, constants to thickness."""
