"""The trade's rules and arithmetic in plain Python.

Nothing here knows Django, a clock or a file. Every module takes frozen facts and
plain numbers in named units and gives back values or :class:`~shop.craft.finding.Finding`.
"""
