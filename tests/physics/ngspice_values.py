"""What ngspice says of the circuits of `circuits`: node voltages [V] and currents [A].

Printed by ngspice-39 (Debian 39.3+ds-1) from the decks that `spice.deck` writes, kept to
seven figures; `test_network` compares them with a live ngspice where there is one.
"""

from __future__ import annotations

from tests.physics.spice import Reading

NGSPICE_39: dict[str, Reading] = {
    "one_string": Reading(
        voltages=[0.0, 2.956358, 1.756189],
        sources=[0.003636875],
        junctions=[0.003636875],
        loads=[],
    ),
    "strings_that_share_the_cell": Reading(
        voltages=[0.0, 2.349677, 1.852961, 1.790214, 1.761755, 1.713135, 2.349643],
        sources=[0.02201294],
        junctions=[0.01056842, 0.005594622, 0.003919474, 0.001928912, 1.509265e-06],
        loads=[],
    ),
    "unequal_lights_behind_one_resistor": Reading(
        voltages=[0.0, 4.984312, 1.846683],
        sources=[0.03137629],
        junctions=[0.009999355, 0.02137693, 6.322263e-10],
        loads=[],
    ),
    "lights_in_series": Reading(
        voltages=[0.0, 8.979053, 6.674932, 4.82301, 1.744353],
        sources=[0.01047328],
        junctions=[0.01047328, 0.01047328, 0.01047328],
        loads=[],
    ),
    "antiparallel_pair": Reading(
        voltages=[0.0, 0.03055244, 2.969448, 0.1833147],
        sources=[-0.001018415, 0.001018415],
        junctions=[-2.796374e-15, 0.001018415],
        loads=[],
    ),
    "array_of_three_pins": Reading(
        voltages=[0.0, 2.785389, 0.1532935, 2.368431, 0.5702517, 1.469328],
        sources=[0.006131739, -0.006131739],
        junctions=[
            0.006131736,
            -1.808635e-15,
            2.827677e-09,
            -8.881784e-16,
            2.826208e-09,
            -9.020562e-16,
        ],
        loads=[],
    ),
    "transistor_switch": Reading(
        voltages=[0.0, 3.993649, 3.517286, 0.04763622],
        sources=[0.03175748],
        junctions=[0.03175748, -2.562201e-09],
        loads=[],
    ),
    "reversed_transistor": Reading(
        voltages=[0.0, 3.997572, 3.81544, 0.70219],
        sources=[0.01214211],
        junctions=[0.01214211, 0.01214211],
        loads=[],
    ),
    "two_cells_through_diodes": Reading(
        voltages=[0.0, 2.985768, 3.045293, 2.754929, 1.820475],
        sources=[0.0009487896, 0.006838332],
        junctions=[0.0009487896, 0.006838332, 0.007787122],
        loads=[],
    ),
    "loaded_divider": Reading(
        voltages=[0.0, 3.6995, 0.6698005],
        sources=[0.00500303],
        junctions=[],
        loads=[0.005, 1e-06],
    ),
    "zener_clamp": Reading(
        voltages=[0.0, 11.98538, 5.115888, 3.13468],
        sources=[0.01461595],
        junctions=[-0.001407898, 0.01320805],
        loads=[],
    ),
    "floating_cell": Reading(
        voltages=[0.0, 3.0, 1.364164, -1.578339, 0.0, 1.689432, 0.2142202],
        sources=[0.001310568, 0.005749717],
        junctions=[0.001310568, 0.005749717],
        loads=[],
    ),
    "bridge_of_lights": Reading(
        voltages=[0.0, -8.965728, -7.252134, -1.862121, -5.497582, -2.399047],
        sources=[-0.01142396],
        junctions=[-5.107026e-15, 0.01142396, 0.01142396, -5.503188e-15, 0.01142396],
        loads=[],
    ),
    "light_from_two_pins": Reading(
        voltages=[0.0, 2.747668, 2.660657, 1.906561],
        sources=[0.008411073, 0.007540962],
        junctions=[0.01595203],
        loads=[],
    ),
    "light_on_the_bare_cell": Reading(
        voltages=[0.0, 3.041913],
        sources=[0.008782615],
        junctions=[0.008782615],
        loads=[],
    ),
    "source_too_weak_for_its_load": Reading(
        voltages=[0.0, 0.04844194, 0.04844194],
        sources=[0.002951558],
        junctions=[6.288165e-17],
        loads=[0.002951558],
    ),
    "smallest_and_largest_resistor": Reading(
        voltages=[0.0, 3.0, 2.997792, 1.238146, 1.960127],
        sources=[0.02207815],
        junctions=[2.481615e-07, 0.0220779],
        loads=[],
    ),
    "light_reversed_at_twenty_volts": Reading(
        voltages=[0.0, -20.0, -20.0],
        sources=[-4.007461e-11],
        junctions=[-1.999401e-14, -1.998401e-14],
        loads=[],
    ),
    "five_lights_on_a_stiff_source": Reading(
        voltages=[0.0, 3.0],
        sources=[10.66914],
        junctions=[0.1774228, 8.6356, 0.3123477, 0.04465818, 1.499109],
        loads=[],
    ),
    "no_supply": Reading(
        voltages=[0.0, 0.0, 2.11714e-23],
        sources=[1.951427e-35],
        junctions=[-1.657826e-36, -6.415576e-26],
        loads=[],
    ),
    "hundred_volts": Reading(
        voltages=[0.0, 100.0, 70.87336, 98.3962],
        sources=[20.54194],
        junctions=[4.503979, 4.503979, -4.0001e-09, 16.03796],
        loads=[],
    ),
}
