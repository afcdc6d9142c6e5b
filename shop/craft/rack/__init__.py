"""The hold rack in the days to come: who does not fit on it, and when too many are due at once."""

from shop.craft.rack.forecasting import Forecast, Lump, forecast
from shop.craft.rack.hours import Hours
from shop.craft.rack.looking import Inspectors
from shop.craft.rack.simulating import Day, Planned

__all__ = ["Day", "Forecast", "Hours", "Inspectors", "Lump", "Planned", "forecast"]
