"""Independent solutions the tests compare with: nothing here imports the package under test."""
