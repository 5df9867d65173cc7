"""The tests; a package, so that one test file may take what another offers."""
