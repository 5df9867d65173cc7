"""The front door: one job and its answers. Each module adds what the one before it needs not know."""

from loomwright.car.car import Car
from loomwright.car.solved_car import State
from loomwright.checked import Checked

__all__ = ["Car", "Checked", "State"]
