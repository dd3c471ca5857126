from tests.door import loads


def test_importing_brewsim_does_not_import_scipy():
    assert not loads("scipy", "import brewsim")


def test_making_a_distribution_does_not_import_scipys_slow_statistics():
    assert not loads("scipy.stats", "import brewsim; brewsim.beta(2, 3)")
