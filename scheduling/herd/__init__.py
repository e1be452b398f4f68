"""What hunters and cameras say of the herd: a trend, and an estimate with its bias."""
