"""The same data through two established linkage libraries, unsupervised, as their own guides set them up.

Both get the whole table to deduplicate and generous blocking; both answer at the line where a match is more likely
than not. Neither sees the true pairs.
"""

from __future__ import annotations

import logging
import warnings

import linkage_febrl as febrl
import recordlinkage
import splink.comparison_library as comparisons
from splink import DuckDBAPI, Linker, SettingsCreator, block_on

LINE = 0.5


def by_splink(case: febrl.Case) -> febrl.Pairs:
    """Splink: Jaro-Winkler names with term frequencies, edit distance on the date; u sampled, m by EM."""
    logging.getLogger("splink").setLevel(logging.ERROR)
    table = case.table.replace("", None).reset_index(names="unique_id")
    rules = [
        block_on("date_of_birth"),
        block_on("given_name", "surname"),
        block_on("surname", "substr(date_of_birth, 1, 4)"),
        block_on("surname", "substr(date_of_birth, 5, 4)"),
        block_on("given_name", "substr(date_of_birth, 1, 4)"),
        block_on("given_name", "substr(date_of_birth, 5, 4)"),
        block_on("substr(given_name, 1, 3)", "substr(surname, 1, 3)"),
        "l.given_name = r.surname and l.surname = r.given_name",
    ]
    fields = [
        comparisons.NameComparison("given_name").configure(term_frequency_adjustments=True),
        comparisons.NameComparison("surname").configure(term_frequency_adjustments=True),
        comparisons.DamerauLevenshteinAtThresholds("date_of_birth", [1, 2]),
    ]
    if case.postcode:
        rules += [block_on("postcode", "surname"), block_on("postcode", "given_name")]
        fields.append(comparisons.DamerauLevenshteinAtThresholds("postcode", [1, 2]))
    settings = SettingsCreator(
        link_type="dedupe_only", comparisons=fields, blocking_rules_to_generate_predictions=rules
    )
    linker = Linker(DuckDBAPI().register(table), settings, log_level=None)
    linker.training.estimate_probability_two_random_records_match(
        [block_on("given_name", "surname", "date_of_birth"), block_on("surname", "date_of_birth")], recall=0.7
    )
    linker.training.estimate_u_using_random_sampling(max_pairs=2e6, seed=1)
    for rule in (block_on("date_of_birth"), block_on("given_name", "surname")):
        linker.training.estimate_parameters_using_expectation_maximisation(rule)
    found = linker.inference.predict(threshold_match_probability=LINE).as_pandas_dataframe()
    return {(min(a, b), max(a, b)) for a, b in zip(found.unique_id_l, found.unique_id_r, strict=True)}


def by_recordlinkage(case: febrl.Case) -> febrl.Pairs:
    """The Python Record Linkage Toolkit: its ECM classifier (Fellegi-Sunter, unsupervised) on agreement yes or no."""
    warnings.simplefilter("ignore")
    table = case.table.replace("", None)
    index = recordlinkage.Index()
    for keys in ("date_of_birth", "given_name", "surname"):
        index.block(keys)
    pairs = index.index(table)
    compare = recordlinkage.Compare()
    compare.string("given_name", "given_name", method="jarowinkler", threshold=0.85, label="given_name")
    compare.string("surname", "surname", method="jarowinkler", threshold=0.85, label="surname")
    compare.exact("date_of_birth", "date_of_birth", label="born")
    if case.postcode:
        compare.string("postcode", "postcode", method="damerau_levenshtein", threshold=0.7, label="postcode")
    agreements = compare.compute(pairs, table)
    found = recordlinkage.ECMClassifier().fit_predict(agreements)
    return {(min(a, b), max(a, b)) for a, b in found}


RIVALS = {"splink": by_splink, "recordlinkage": by_recordlinkage}
