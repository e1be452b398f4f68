"""Addresses that nobody serves."""


def test_an_unknown_address_of_the_api_is_answered_as_a_problem(client, db):
    answer = client.get("/api/v1/nonsense/")

    assert (answer.status_code, answer["Content-Type"]) == (404, "application/problem+json")
    assert answer.json()["code"] == "not_found"


def test_the_bare_address_leads_to_the_pages(client, db):
    assert client.get("/")["Location"] == "/docs/"
