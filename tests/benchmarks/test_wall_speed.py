"""How long the stages wall and chain take."""

import time

from engine.stages.chain import chain
from engine.stages.wall import wall
from tests.engine.wall_site import TWELVE, hang


def test_twelve_units_are_hung_routed_and_chained_in_half_a_second():
    """6 m by 2.4 m, three obstacles, five kinds of power routes; time of the processor, best of three."""
    site = hang(TWELVE)
    assert len(site.wall.runs) == 5 * 12 + 5
    taken = []
    for _ in range(3):
        start = time.process_time()
        there, _ = wall(facts=site.facts, circuits=site.circuits)
        chain(facts=site.facts, units=site.units, banks=site.banks, wall=there)
        taken.append(time.process_time() - start)
    assert min(taken) < 0.5
