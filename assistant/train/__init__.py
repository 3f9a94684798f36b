"""How graphs and speech models are made: build time only, extra `train`."""
