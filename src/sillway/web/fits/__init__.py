"""One pair: verdict, what backs it, drawings, playback, sheet."""
