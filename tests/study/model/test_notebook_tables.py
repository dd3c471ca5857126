"""Problems and what was learned as tables in notebooks, every text escaped."""

from brewsim import Batch, Problem, Reading, Target, learn, normal


def twice(level):
    return 2 * level


def named(name):
    return Problem.of(
        [twice], {"level": normal(1.0, 0.3)}, targets={"twice": Target(1.5, 2.5)}, name=name
    )


def test_a_problem_shows_its_outcomes_and_targets():
    html = named("a <script> model")._repr_html_()

    assert "<th scope='row'>twice</th><td>1.5 to 2.5</td>" in html
    assert "1 uncertain inputs, 0 knobs" in html
    assert "<script>" not in html
    assert "a &lt;script&gt; model" in html


def test_what_was_learned_shows_how_far_it_is_known():
    problem = named("model")
    learned = learn(problem, [Batch("<b>", problem, (Reading("twice", 2.4, 0.1),))], seed=3)

    html = learned._repr_html_()

    assert "Learned from 1 batches" in html
    assert "level @knowledge</th><td>+0." in html
    assert "<b>" not in html
