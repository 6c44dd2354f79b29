#!/usr/bin/python3
"""Try `foldout habits` on six invented engineers.

  trial.py FOLDOUT SESSION... [--pairs 4,6] [--names named] [--rounds 1] [--seed 1] [--verbose]

SESSION is a folder with labels.json and the audio under its sets of names, named/, mixed/ and anon/
(testdata/rolemodel renders such). Each engineer has a rule of their own: which kinds of track are joined first, second ...
when the pairs run out. For every session in turn three others are drawn; the engineer's grouping of these, made from the
labels, goes through `adopt` and `habits learn`; then the session is folded by these habits, and without. Needs only Python's
own library.

Prints per engineer the share of the couples of tracks that share a pair, by F1 against the engineer's own grouping and
as recall: without habits, and with those of three sheets; and the F1 of the fold by a single sheet's habits against
that without ("kept"): how little one sheet changes. Effects that belong nowhere are left out.
"""
import argparse, csv, json, os, random, subprocess, sys, tempfile

NAME = {'named': 'file', 'mixed': 'mixed', 'anon': 'anon'}
KIT, PERC, BASS = ['shells', 'metal'], ['perc'], ['bass']
GUITARS, KEYS, ORCHESTRA, VOICES = ['egtr', 'agtr'], ['keys', 'synth'], ['strings', 'horns'], ['lead', 'bgv']

# what is never parted, and what is joined, in this order, until there are no more groups than pairs
ENGINEERS = {
    'bass on its own': ([KIT], [KEYS, ORCHESTRA, GUITARS, KIT + PERC, KEYS + ORCHESTRA, VOICES, GUITARS + KEYS + ORCHESTRA, KIT + BASS]),
    'percussion with the guitars': ([KIT], [['agtr', 'perc'], ['egtr', 'perc'], KEYS, ORCHESTRA, KEYS + ORCHESTRA, KIT + BASS, VOICES, GUITARS + KEYS + ORCHESTRA]),
    'lead alone': ([KIT], [KEYS, ORCHESTRA, KIT + PERC, GUITARS, KEYS + ORCHESTRA, GUITARS + KEYS + ORCHESTRA, KIT + BASS, GUITARS + KEYS + ORCHESTRA + ['bgv']]),
    'keys, synths and strings are one bed': ([KIT, KEYS + ['strings']], [GUITARS, KIT + PERC, VOICES, GUITARS + ['horns'], KIT + BASS, GUITARS + KEYS]),
    'shells with bass, metal with percussion': ([], [['metal', 'perc'], ['shells', 'bass'], KEYS, ORCHESTRA, GUITARS, VOICES, KEYS + ORCHESTRA, GUITARS + KEYS + ORCHESTRA]),
    'voices never parted, bass with the guitars': ([KIT, VOICES], [KEYS, ORCHESTRA, KIT + PERC, ['egtr', 'bass'], ['agtr', 'bass'], KEYS + ORCHESTRA, GUITARS, GUITARS + KEYS + ORCHESTRA]),
}


def atom(track):
    """The part of the band that a track is, as the engineers cut it; None for what belongs nowhere."""
    if track['atom'] is None or track['role'] == 'silent':
        return None
    if track['family'] == 'drums':
        return 'metal' if track['role'] in ('hat', 'cymbal', 'overhead', 'room') else 'shells'
    return track['family']


def group(labels, engineer, pairs):
    """{file: pair from 1} as the engineer groups the session."""
    never, joins = ENGINEERS[engineer]
    tracks = [t for t in labels['tracks'] if atom(t)]
    at = {}
    for a in dict.fromkeys(atom(t) for t in tracks):
        at[a] = a

    def join(atoms):
        there = [a for a in atoms if a in at]
        for a in there[1:]:
            if at[a] != at[there[0]]:
                old = at[a]
                for b in at:
                    if at[b] == old:
                        at[b] = at[there[0]]
                return True
        return False
    for atoms in never:
        while join(atoms):
            pass
    for atoms in joins:
        while len(set(at.values())) > pairs and join(atoms):
            pass
    if len(set(at.values())) > pairs:
        return None
    number = {g: n + 1 for n, g in enumerate(dict.fromkeys(at.values()))}
    return {t['file']: number[at[atom(t)]] for t in tracks}


def couples(at, files):
    return {(a, b) for i, a in enumerate(files) for b in files[i + 1:] if at[a] == at[b]}


def f1(a, b):
    return 2 * len(a & b) / (len(a) + len(b)) if a or b else 1


class Trial:
    def __init__(self, foldout, names, work):
        self.foldout, self.names, self.work, self.made = foldout, names, work, {}

    def run(self, *args):
        return subprocess.run([self.foldout, *args], check=True, capture_output=True, text=True, env=dict(os.environ, XDG_CONFIG_HOME=self.work)).stdout

    def adopted(self, session, labels, engineer, pairs):
        """A sheet of the engineer's own grouping, None where it cannot be had on so many pairs."""
        key = (session, engineer, pairs)
        if key not in self.made:
            at = group(labels, engineer, pairs)
            self.made[key] = None
            if at:
                stem = os.path.join(self.work, f'{len(self.made)}')
                with open(stem + '.csv', 'w', newline='') as f:
                    rows = csv.writer(f)
                    rows.writerow(['track', 'pair'])
                    for t in labels['tracks']:
                        if t['file'] in at:
                            rows.writerow([t[NAME[self.names]], at[t['file']]])
                self.run('adopt', os.path.join(session, self.names), '--sheet', stem + '.csv', '--out', stem + '.json')
                self.made[key] = stem + '.json'
        return self.made[key]

    def folded(self, session, labels, pairs, habits):
        """{file: pair} of foldout's own fold."""
        doc = json.loads(self.run('suggest', os.path.join(session, self.names), '--pairs', str(pairs), '--habits', habits, '--format', 'json'))
        name = {t[NAME[self.names]]: t['file'] for t in labels['tracks']}
        return {name[t['file']]: n for n, p in enumerate(doc['pairs']) for t in p['tracks']}


def main():
    p = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    p.add_argument('foldout')
    p.add_argument('session', nargs='+')
    p.add_argument('--pairs', default='4,6')
    p.add_argument('--names', default='named', choices=list(NAME))
    p.add_argument('--rounds', type=int, default=1)
    p.add_argument('--seed', type=int, default=1)
    p.add_argument('--engineer', default='')
    p.add_argument('--verbose', action='store_true')
    a = p.parse_args()
    labels = {s: json.load(open(os.path.join(s, 'labels.json'))) for s in a.session}
    rng = random.Random(a.seed)
    print(f'names: {a.names}; F1 (recall) of the couples on one pair')
    print('| engineer | pairs | folds | common practice | habits of three sheets | kept after one sheet |')
    print('|---|---|---|---|---|---|')
    with tempfile.TemporaryDirectory() as work:
        trial = Trial(os.path.abspath(a.foldout), a.names, work)
        plain = {}
        for engineer in ENGINEERS:
            if a.engineer not in engineer:
                continue
            for pairs in map(int, a.pairs.split(',')):
                able = [s for s in a.session if trial.adopted(s, labels[s], engineer, pairs)]
                usual, mine, kept, recall, recall0 = [], [], [], [], []
                for target in able:
                    for _ in range(a.rounds):
                        three = rng.sample([s for s in able if s != target], 3)
                        sheets = [trial.adopted(s, labels[s], engineer, pairs) for s in three]
                        out = os.path.join(work, 'habits.toml')
                        words = trial.run('habits', 'learn', *sheets, '--out', out, '--force')
                        own = group(labels[target], engineer, pairs)
                        if (target, pairs) not in plain:
                            plain[target, pairs] = trial.folded(target, labels[target], pairs, 'none')
                        trade, habit = plain[target, pairs], trial.folded(target, labels[target], pairs, out)
                        trial.run('habits', 'learn', sheets[0], '--out', out, '--force')
                        one = trial.folded(target, labels[target], pairs, out)
                        files = [f for f in own if f in trade and f in habit and f in one]
                        want, by_trade, by_habit, by_one = (couples(x, files) for x in (own, trade, habit, one))
                        usual.append(f1(want, by_trade)), mine.append(f1(want, by_habit)), kept.append(f1(by_trade, by_one))
                        recall.append(len(want & by_habit) / len(want)), recall0.append(len(want & by_trade) / len(want))
                        if a.verbose:
                            print(os.path.basename(target), [os.path.basename(s) for s in three], f'{usual[-1]:.2f} -> {mine[-1]:.2f}', file=sys.stderr)
                            print(words, file=sys.stderr)
                mean = lambda v: sum(v) / len(v)
                print(f'| {engineer} | {pairs} | {len(mine)} | {mean(usual):.2f} ({mean(recall0):.2f}) | {mean(mine):.2f} ({mean(recall):.2f}) | {mean(kept):.2f} |', flush=True)


main()
