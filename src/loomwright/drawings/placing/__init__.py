"""Where on the page everything stands, so that nothing touches and few wires cross."""
