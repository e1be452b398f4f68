"""The ground floor: accounts, permissions, HTTP conventions, jobs, notices."""
