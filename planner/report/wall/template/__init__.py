"""The drilling template: the wall at its true size, on many sheets of paper."""
