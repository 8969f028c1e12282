"""What differs between tablets: folders, clock, locks."""
