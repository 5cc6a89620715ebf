from dryfit.model.sentences import capital, pair_names, paired


def test_a_sentence_begins_large_and_keeps_its_names():
    assert capital("an ISO 3950 number of Fangs_A") == "An ISO 3950 number of Fangs_A"
    assert capital("") == ""


def test_a_pair_is_read_as_it_was_written():
    assert pair_names(paired("left lower canine", "upper teeth 'Row'")) == ("left lower canine", "upper teeth 'Row'")


def test_what_names_no_pair_is_none():
    assert [pair_names(each) for each in (None, "", "tusk", float("nan"))] == [None] * 4
