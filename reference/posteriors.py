#!/usr/bin/env python3
"""How likely each cause is after what was seen, by pyAgrum's Bayesian networks.

    python3 reference/posteriors.py < jobs > answers

A job is a line of words, the last of which is a number of bytes, and then those bytes: a
fault model with what was seen, as JSON. An answer is a line with a number of bytes, and then
those bytes: the posteriors as a JSON list in full precision, the causes' first, then the
unlisted one's, then those of pairs, in the order of their causes.

A model:

    {"weights": [causes..., unlisted],
     "second": 0,                          above 0: pairs are hypotheses too
     "seen": [{"answer": 1, "likelihood": [[answer by hypothesis]...], "speaks": [0, 1, ...]},
              {"cures": [...], "seems": [...]}, ...]}      a mend that failed

Without pairs the network is a node for the cause with one child for each check, and one
(`its trial looks good`, `looks bad`) for each mend. With pairs the state may change: each mend
has a node for what is wrong after it (a pair loses one cause, both or none, each cause by its
own draw), whose child is the trial, and later checks are children of the latest such node.

The definitions are those of the words at the top of crates/trails/src/belief.rs. Inference is
exact (lazy propagation, Madsen & Jensen 1999). Needs reference/requirements.txt in
target/reference-python, or in the folder that HOLDFAST_REFERENCE_PYTHON names.
"""

import json
import os
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
WANTED = ROOT / "reference" / "requirements.txt"
FOLDER = Path(os.environ.get("HOLDFAST_REFERENCE_PYTHON") or ROOT / "target" / "reference-python")
sys.path.insert(0, str(FOLDER))


def missing(why):
    sys.exit(
        f"{why}; run ./test, or python3 -m pip install --no-deps --target {FOLDER} "
        "-r reference/requirements.txt"
    )


if not (FOLDER / "pyagrum").is_dir():
    missing(f"the Bayesian-network library that this check needs is not in {FOLDER}")
try:
    import numpy
    import pyagrum as gum
except ImportError as error:
    missing(f"the Bayesian-network library in {FOLDER} can't be loaded ({error})")
for name, have in (("pyagrum", gum.__version__), ("numpy", numpy.__version__)):
    if f"{name}=={have} " not in WANTED.read_text(encoding="utf-8"):
        missing(f"{name} {have} in {FOLDER} is not the version that this check wants")


def node(net, name, states):
    return net.add(gum.LabelizedVariable(name, name, states))


def table(net, child, columns):
    """The child's table from one column (a list that sums to 1) for each state of its parent."""
    net.cpt(child).fillWith([number for column in columns for number in column])


def child(net, name, parent, columns):
    made = node(net, name, len(columns[0]))
    net.addArc(parent, made)
    table(net, made, columns)
    return made


def posterior(net, target, evidence):
    inference = gum.LazyPropagation(net)
    inference.setEvidence(evidence)
    inference.addTarget(target)
    inference.makeInference()
    return [float(number) for number in inference.posterior(target).toarray()]


def of_singles(model):
    weights = model["weights"]
    net = gum.BayesNet()
    cause = node(net, "cause", len(weights))
    net.cpt(cause).fillWith([weight / sum(weights) for weight in weights])
    evidence = {}
    for at, seen in enumerate(model["seen"]):
        if "answer" in seen:
            columns = list(zip(*seen["likelihood"], strict=True))
            answered = child(net, f"check{at}", cause, columns)
            evidence[answered] = seen["answer"]
        else:
            bad = [(1 - cure) * (1 - seem) for cure, seem in zip(seen["cures"], seen["seems"], strict=True)]
            trial = child(net, f"trial{at}", cause, [[1 - p, p] for p in bad])
            evidence[trial] = 1
    return posterior(net, cause, evidence)


def of_pairs(model):
    weights = [weight / sum(model["weights"]) for weight in model["weights"]]
    unlisted = len(weights) - 1
    # What may be wrong, as sets; the empty one is reached by a mend alone.
    states = [frozenset([one]) for one in range(len(weights))]
    states += [frozenset([f, g]) for f in range(unlisted) for g in range(f + 1, unlisted)]
    states.append(frozenset())
    place = {state: at for at, state in enumerate(states)}

    def prior(state):
        members = sorted(state)
        if len(members) == 2:
            return model["second"] * weights[members[0]] * weights[members[1]]
        return weights[members[0]] if members else 0.0

    net = gum.BayesNet()
    priors = [prior(state) for state in states]
    now = node(net, "wrong", len(states))
    net.cpt(now).fillWith([weight / sum(priors) for weight in priors])
    evidence = {}
    for at, seen in enumerate(model["seen"]):
        if "answer" in seen:
            columns = list(zip(*seen["likelihood"], strict=True))
            speaks = seen["speaks"]

            def column(state, columns=columns, speaks=speaks):
                members = sorted(state)
                if len(members) == 2:
                    spoken = [one for one in members if speaks[one]]
                    members = spoken if len(spoken) == 1 else members
                if not members:  # nothing is wrong: no trial has looked bad, so this never counts
                    return [1 / len(columns[0])] * len(columns[0])
                return [sum(parts) / len(members) for parts in zip(*(columns[one] for one in members), strict=True)]

            answered = child(net, f"check{at}", now, [column(state) for state in states])
            evidence[answered] = seen["answer"]
        else:
            cures, seems = seen["cures"], seen["seems"]
            rows = []
            for state in states:
                row = [0.0] * len(states)
                outcomes = {frozenset(): 1.0}
                for one in state:
                    halves = {}
                    for left, chance in outcomes.items():
                        halves[left] = halves.get(left, 0.0) + chance * cures[one]
                        halves[left | {one}] = halves.get(left | {one}, 0.0) + chance * (1 - cures[one])
                    outcomes = halves
                for left, chance in outcomes.items():
                    row[place[left]] += chance
                rows.append(row)
            now = child(net, f"wrong{at}", now, rows)

            def good(state, seems=seems):
                hidden = 1.0
                for one in state:
                    hidden *= seems[one]
                return hidden

            trial = child(net, f"trial{at}", now, [[good(state), 1 - good(state)] for state in states])
            evidence[trial] = 1
    found = posterior(net, now, evidence)
    # A trial that looks bad rules out that nothing is wrong.
    assert found.pop() < 1e-15
    return found


while job := sys.stdin.buffer.readline():
    *_, size = job.decode("ascii").split()
    asked = json.loads(sys.stdin.buffer.read(int(size)))
    result = json.dumps(of_pairs(asked) if asked["second"] > 0 else of_singles(asked)).encode("ascii")
    sys.stdout.buffer.write(b"%d\n%b" % (len(result), result))
