"""The spoken test-bed: seeded noises and mixtures."""
