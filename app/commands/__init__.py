"""What the menus do, one file per menu."""
