"""Pages for people, written in Markdown beside this file and served at /docs/."""
