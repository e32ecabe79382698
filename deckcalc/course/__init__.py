"""The course of the work: each subject's part of the job folder, and how it is carried through its trade.

A module holds the subject's sections of ``job.toml`` and rows of tables (`SECTIONS`, `ROWS`), holds them against each
other (`check`), and carries a job through the calculations of the trade (`carry`). Only `deckcalc.job` puts them together.
"""
