"""The trade's rules. Pure: no clock, no randomness, no files, no screen.

Before a child: ``readiness`` (with ``readiness_facts``, ``_judges`` and ``_validity``), ``room``, ``due``.
With a child: ``protocol`` (with ``protocol_parts``), ``tone_walk``, ``threshold``, ``threshold_plan``, ``not_tested``.
After a child: ``followup``, ``referral``, ``examination``, ``audiogram``, ``audiogram_chart``, ``station_watch``.
``fields`` reads checked values out of plain data.
"""
