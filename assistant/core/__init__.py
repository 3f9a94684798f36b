"""The trade: pure, exact, without files, clock or devices."""
