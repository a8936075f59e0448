"""What leaves mockcheck for others: music and pages that come out of a review."""
