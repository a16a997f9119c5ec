"""Line art becomes panes and leads."""
