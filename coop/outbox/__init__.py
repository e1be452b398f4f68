"""Facts written in the transaction of their cause, and the messages that follow from them."""
