"""The ground floor: accounts, permissions, HTTP conventions, jobs and notices. Knows nobody above."""
