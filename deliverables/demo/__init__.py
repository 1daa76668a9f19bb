"""An invented office and one invented job, told through the real actions. Nobody and nothing here exists."""
