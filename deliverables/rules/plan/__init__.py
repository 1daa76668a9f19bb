"""What the plan check and the comparison of drafts are made of: pages, tones, outlines, voids, words and figures."""
