"""What somebody can sit: every stand and session judged for them, and the answer kept a while."""
