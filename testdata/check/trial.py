#!/usr/bin/python3
"""Try `foldout check` on manual sheets with planted mistakes.

  trial.py FOLDOUT SESSION... [--seeds 2]

SESSION is a folder with labels.json and the audio under its three sets of names, named/, mixed/ and anon/
(testdata/rolemodel renders such). A sheet is a fold from the labels' `reference`: the primary one, or another that is
as good. Ten tracks, a fifth of a session under thirty, are moved to a pair that holds nothing which any of these folds
would put with them; no pair is emptied, and silent tracks and effects on the last pair are left alone. A clean sheet
has nothing moved. Needs only Python's own library.

Prints per names, pairs and kind of fold: sheets; recall; precision; home, the share of found tracks that are sent where
they came from; all, the share of sheets on which every planted track is found and at most two others are called;
clean, misfits called per clean sheet.
"""
import argparse, csv, json, os, random, subprocess, tempfile

NAME = {'named': 'file', 'mixed': 'mixed', 'anon': 'anon'}


def fold(labels, pairs, other, rng):
    """The pairs of a fold: a list of lists of atoms."""
    reference = labels['reference'][str(pairs)]
    return rng.choice(reference['alternatives'] or [reference['primary']]) if other else reference['primary']


def sheet(labels, pairs, other, moves, rng):
    """{file: pair from 1}, {file: pair it came from}"""
    groups = fold(labels, pairs, other, rng)
    home = {atom: i for i, group in enumerate(groups) for atom in group}
    friends = {}
    for accepted in [labels['reference'][str(pairs)]['primary']] + labels['reference'][str(pairs)]['alternatives']:
        for group in accepted:
            for atom in group:
                friends.setdefault(atom, set()).update(group)
    tracks = [t for t in labels['tracks'] if t['atom'] in home]
    at = {t['file']: home[t['atom']] for t in tracks}
    moved = {}
    for t in rng.sample(tracks, len(tracks)):
        if len(moved) == moves:
            break
        here = home[t['atom']]
        wrong = [q for q, group in enumerate(groups) if q != here and not friends[t['atom']] & set(group)]
        if wrong and sum(q == here for q in at.values()) > 1:
            at[t['file']] = rng.choice(wrong)
            moved[t['file']] = here + 1
    return {t['file']: at.get(t['file'], len(groups) - 1) + 1 for t in labels['tracks']}, moved


def check(foldout, session, names, at, key, folder):
    """{file as shown: suggested pair} of the misfits called."""
    path = os.path.join(folder, 'sheet.csv')
    with open(path, 'w', newline='', encoding='utf-8') as f:
        csv.writer(f).writerows([['track', 'pair']] + [[key[file], pair] for file, pair in at.items()])
    out = subprocess.run([foldout, 'check', os.path.join(session, names), '--sheet', path, '--format', 'json'], capture_output=True, check=True)
    return {os.path.basename(m['file']): m['suggested'] for m in json.loads(out.stdout)['misfits']}


def main():
    ap = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ap.add_argument('foldout')
    ap.add_argument('session', nargs='+')
    ap.add_argument('--seeds', type=int, default=2)
    a = ap.parse_args()
    print('| names | pairs | fold | sheets | recall | precision | home | all | clean |\n|---|---|---|---|---|---|---|---|---|')
    with tempfile.TemporaryDirectory() as folder:
        for names in NAME:
            for pairs in (4, 8):
                for other in (False, True):
                    planted = found = called = sent = whole = sheets = false = 0
                    for session in a.session:
                        with open(os.path.join(session, 'labels.json'), encoding='utf-8') as f:
                            labels = json.load(f)
                        key = {t['file']: t[NAME[names]] for t in labels['tracks']}
                        moves = 10 if len(labels['tracks']) >= 30 else len(labels['tracks']) // 5
                        for seed in range(a.seeds):
                            rng = random.Random('%s %d %s %d' % (os.path.basename(session), pairs, other, seed))
                            at, moved = sheet(labels, pairs, other, moves, rng)
                            answer = check(a.foldout, session, names, at, key, folder)
                            hits = [f for f in moved if key[f] in answer]
                            sheets, planted, found, called = sheets + 1, planted + len(moved), found + len(hits), called + len(answer)
                            sent += sum(answer[key[f]] == moved[f] for f in hits)
                            whole += len(hits) == len(moved) and len(answer) - len(hits) <= 2
                            rng = random.Random('%s %d %s %d' % (os.path.basename(session), pairs, other, seed))
                            false += len(check(a.foldout, session, names, sheet(labels, pairs, other, 0, rng)[0], key, folder))
                    print('| %s | %d | %s | %d | %.2f | %.2f | %.2f | %.2f | %.2f |' % (names, pairs, 'other' if other else 'usual', sheets, found / planted, found / max(1, called), sent / max(1, found), whole / sheets, false / sheets), flush=True)


if __name__ == '__main__':
    main()
