"""What is known of a cast before its first reading."""

import itertools
import math

import pytest

from models.doors import BadValue
from models.prior import AbsorptionPrior, prior_from_bench, prior_from_history


def test_without_a_history_the_prior_is_the_trade_s_whole_band():
    # ten trade sources: K from about 0.5 to 3.8 mm2/min; the middle 80 % of the prior must span most of that
    prior = prior_from_history([])
    assert prior.log_k_sd == AbsorptionPrior().log_k_sd
    low = math.exp(prior.log_k - 1.2816 * prior.log_k_sd)
    high = math.exp(prior.log_k + 1.2816 * prior.log_k_sd)
    assert low < 0.6
    assert high > 2.0


def test_three_casts_of_one_mould_narrow_the_prior_about_their_middle():
    # K 5.33, 4.57, 4.00 mm2/min: 4 mm in 3, 3.5 and 4 min [S3]; geometric middle 4.60
    prior = prior_from_history([5.33, 4.57, 4.00])
    assert math.exp(prior.log_k) == pytest.approx(4.60, rel=0.05)
    assert 0.1 < prior.log_k_sd < 0.25
    assert prior.fastest_k_mm2_per_min == pytest.approx(5.33)


def test_more_casts_never_make_a_prior_wider():
    sds = [prior_from_history([1.0] * n).log_k_sd for n in range(6)]
    assert all(later <= earlier + 1e-12 for earlier, later in itertools.pairwise(sds))


def test_a_damp_mould_is_expected_slower_by_what_is_known_of_its_dampness():
    dry = prior_from_history([1.0, 1.1])
    damp = prior_from_history([1.0, 1.1], slower=0.8, slower_log_sd=0.1)
    assert damp.log_k - dry.log_k == pytest.approx(math.log(0.8))
    assert damp.log_k_sd == pytest.approx(math.hypot(dry.log_k_sd, 0.1), rel=1e-6)


@pytest.mark.parametrize("bad", [math.nan, math.inf, 0.0, -1.0, 1e6])
def test_a_history_that_cannot_be_is_refused(bad):
    with pytest.raises(BadValue, match="k_mm2_per_min holds"):
        prior_from_history([1.0, bad])
    with pytest.raises(BadValue, match="slower is"):
        prior_from_history([1.0], slower=bad)


def test_neighbours_draw_a_mould_towards_what_the_bench_drinks_today():
    alone = AbsorptionPrior()
    told = prior_from_bench([(0.9, 0.05), (1.0, 0.05), (0.95, 0.05)], alone)
    assert told.log_k == pytest.approx(0.95, abs=0.05)
    assert told.log_k_sd < 0.5 * alone.log_k_sd
    assert prior_from_bench([], alone) == alone


def test_neighbours_that_differ_much_say_less():
    close = prior_from_bench([(0.5, 0.05), (0.55, 0.05), (0.45, 0.05)])
    apart = prior_from_bench([(0.0, 0.05), (1.0, 0.05), (0.5, 0.05)])
    assert apart.log_k_sd > 1.5 * close.log_k_sd


def test_a_neighbour_that_knows_little_itself_changes_little():
    alone = AbsorptionPrior()
    told = prior_from_bench([(alone.log_k + 1.0, 2.0)], alone)
    assert abs(told.log_k - alone.log_k) < 0.15
