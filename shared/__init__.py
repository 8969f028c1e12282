"""What both the sync module and the field app stand on: the trade's rules, the records, the vault.

Imports run one way only: ``shared`` <- ``sync`` <- ``fieldapp``.
"""
