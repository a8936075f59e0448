"""Many files at once: found, reviewed by all cores or a cluster, kept, and counted up."""
