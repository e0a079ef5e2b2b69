"""Settings, printers, filaments and guidelines: what each key means, and its loaders."""
