"""Making: gears, rods, locks, strength, what bits can cut."""
