"""Plan and side elevation as SVG, to scale, for page, PDF and file alike."""
