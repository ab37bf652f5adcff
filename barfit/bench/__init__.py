"""How fast and how right the rod is: the numbers behind `barfit bench`."""
