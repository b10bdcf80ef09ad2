"""Mean life ahead is the area under survival, at every age."""

import numpy as np
import pytest
from scipy.integrate import quad

from turnwell.life.weibull import mean_ahead, survival_ahead


@pytest.mark.parametrize("shape", [0.3, 1.0, 2.5, 9.0])
@pytest.mark.parametrize("age", [0.0, 40.0, 100.0, 180.0])
@pytest.mark.parametrize("stretch", [0.5, 30.0, 400.0])
def test_it_is_the_area_under_survival(shape: float, age: float, stretch: float):
    def passed(ahead: float) -> float:
        return float(np.exp((age / 100.0) ** shape - ((age + ahead) / 100.0) ** shape))

    # In pieces, so that the steep part is not missed.
    edges = [0.0, *(stretch * np.array([1e-4, 1e-3, 1e-2, 0.1, 0.3, 1.0]))]
    area = sum(quad(passed, *edges[at : at + 2], epsabs=0, epsrel=1e-11)[0] for at in range(6))
    told = float(mean_ahead(shape, 100.0, stretch=stretch, age=age))
    assert told == pytest.approx(area, rel=1e-6)
    assert float(survival_ahead(shape, 100.0, stretch=stretch, age=age)) == pytest.approx(
        passed(stretch), rel=1e-9, abs=1e-300
    )


def test_the_whole_rest_is_the_mean():
    assert float(mean_ahead(2.0, 100.0, stretch=np.inf)) == pytest.approx(
        100.0 * np.sqrt(np.pi) / 2.0, rel=1e-12
    )


def test_it_takes_many_lives_at_once():
    shapes, scales = np.array([1.0, 2.0, 3.0]), np.array([50.0, 100.0, 400.0])
    many = mean_ahead(shapes, scales, stretch=80.0, age=20.0)
    one = [
        float(mean_ahead(b, e, stretch=80.0, age=20.0)) for b, e in zip(shapes, scales, strict=True)
    ]
    assert many.tolist() == pytest.approx(one, rel=1e-12)
