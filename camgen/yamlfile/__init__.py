"""Reading YAML files safely, and saying what is wrong with them in the words of the file.

Two steps, used by every room that reads a file written by hand:

* :func:`load_yaml` (or :func:`read_yaml` for a file on disk) turns text into plain data and keeps
  where each key and value stood. Only plain YAML is taken: no tags, no merge keys, no key twice,
  and bounds on size, depth and aliases, so that no file can make the program work for ever.
* :func:`validate` holds the data against a model and turns everything that does not fit into
  :class:`~camgen.faults.Fault`, all at once.

A bare word is read by these rules, a strict part of YAML 1.1: ``true false yes no on off`` are true
and false, ``null ~`` or nothing is no value, ``12 -3`` are whole numbers, ``0.25 1.5e-3`` numbers;
all else is text. Spellings on which YAML's versions disagree (``1:30``, ``010``, ``1e-3``) stay
text and are explained where a number was wanted.
"""

from __future__ import annotations

from camgen.yamlfile.document import DataPath, Document, in_order, path_words
from camgen.yamlfile.fitting import meant_words, validate, validated
from camgen.yamlfile.text import Bounds, load_yaml, read_yaml

__all__ = ["Bounds", "DataPath", "Document", "in_order", "load_yaml", "meant_words", "path_words",
           "read_yaml", "validate", "validated"]
