"""Hunter orange in words, and where the reader is sent for the state's own."""

from properties.regulations.words import orange_on, regulation_words
from scheduling.sits.cautions import orange_caution

PAGE = "https://state.example/orange"


def test_what_is_worn_ends_in_one_full_stop():
    asked = {"when": "always", "what": "Hat and vest (invented)."}

    assert orange_on(asked, firearm_seasons=()).sentence.endswith(" Hat and vest (invented).")
    assert "(Hat and vest (invented))." in regulation_words("orange", asked)
    loud = orange_on({**asked, "what": "Hat and vest!"}, firearm_seasons=())
    assert loud.sentence.endswith(" Hat and vest!")


def test_the_caution_leads_to_the_page_that_the_manager_entered_with_the_value():
    orange = orange_on({"when": "always"}, firearm_seasons=(), source_url=PAGE)

    said = orange_caution(orange, regulations_url="https://state.example/").sentence

    assert said.endswith(f"read {PAGE}.")


def test_without_any_page_the_caution_says_that_none_was_entered():
    orange = orange_on(None, firearm_seasons=("Gun",))

    assert "entered no link" in orange_caution(orange, regulations_url="").sentence
    assert orange_caution(orange, regulations_url=PAGE).sentence.endswith(f"read {PAGE}.")
