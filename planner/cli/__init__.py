"""The command: parses arguments, calls the library, prints."""
