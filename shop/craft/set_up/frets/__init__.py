"""Levelling the frets: their heights as read, the plan that takes the least, what spoils it,
and how they stand after crowning."""

from shop.craft.set_up.frets.file import SAMPLE, FileProblem, FromFile, read, written
from shop.craft.set_up.frets.judging import Crowned, Rise, judge, rises
from shop.craft.set_up.frets.planning import CAUTION, Plan, plan
from shop.craft.set_up.frets.reading import Doubt, FretReadings, Spot, frets_words
from shop.craft.set_up.frets.suspecting import Advice, Suspect, advise
from shop.craft.set_up.frets.targets import NEW_MM, REPAIR_MM, Board

__all__ = [
    "CAUTION",
    "NEW_MM",
    "REPAIR_MM",
    "SAMPLE",
    "Advice",
    "Board",
    "Crowned",
    "Doubt",
    "FileProblem",
    "FretReadings",
    "FromFile",
    "Plan",
    "Rise",
    "Spot",
    "Suspect",
    "advise",
    "frets_words",
    "judge",
    "plan",
    "read",
    "rises",
    "written",
]
