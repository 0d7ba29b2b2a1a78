"""What works on this machine, what does not, and the remedy for each: facts in, findings out."""
