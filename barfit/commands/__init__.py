"""What the commands are made of: a module to each that writes files, and what all of them share."""
