"""Events posted to other programs, by the Standard Webhooks specification 1.0.0."""
