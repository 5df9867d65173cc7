"""The car tried otherwise than it is: small edits that may cure a finding, one thing wrong, a recorded drive."""
