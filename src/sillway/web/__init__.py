"""The workbench: the lot as pages. One folder per desk; see docs/serve.md."""
