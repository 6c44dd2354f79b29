#!/usr/bin/env python3
"""Scores how foldout treats what is no track, on the folders made by make.py.

  score.py FOLDER --cmd 'foldout suggest {dir} --pairs 4 --format json'

Prints per kind: set aside, asked about, missed, and how often the kind was said right; then every track of the song that was set
aside or asked about.
"""
import argparse
import collections
import json
import os
import shlex
import subprocess

p = argparse.ArgumentParser()
p.add_argument('folder')
p.add_argument('--cmd', required=True)
p.add_argument('--variants', default='named,anon')
o = p.parse_args()
for variant in o.variants.split(','):
    count, real, wrong = collections.defaultdict(collections.Counter), 0, []
    for name in sorted(os.listdir(o.folder)):
        if not os.path.exists(f'{o.folder}/{name}/intruders.json'):
            continue
        truth = json.load(open(f'{o.folder}/{name}/intruders.json'))
        kinds, folder = truth['truth'][variant], f'{o.folder}/{name}/{variant}'
        run = subprocess.run(shlex.split(o.cmd.replace('{dir}', shlex.quote(folder))), capture_output=True, text=True)
        assert run.stdout, run.stderr
        doc = json.loads(run.stdout)
        said = {a['file']: ('set aside', a) for a in doc['set_aside'] if a['kind'] != 'silent'}
        said.update({q['file']: ('asked', q) for q in doc['questions']})
        if truth['twin'][variant] in said:  # either of two equal files may go
            twin = next(f for f, k in kinds.items() if k == 'duplicate')
            said.setdefault(twin, said.pop(truth['twin'][variant]))
        for file, kind in kinds.items():
            how, what = said.get(file, ('missed', {}))
            count[kind][how] += 1
            count[kind]['kind right'] += what.get('kind') == kind
        real += len(os.listdir(folder)) - len(kinds)
        wrong += [(name, how, a['kind'], a['certainty'], f) for f, (how, a) in said.items() if f not in kinds]
    print(f'{variant}: {real} tracks')
    for kind, c in sorted(count.items()):
        print(f'  {kind:10} ' + ', '.join(f'{h} {c[h]}' for h in ('set aside', 'asked', 'missed', 'kind right')))
    caught = sum(c['set aside'] + c['asked'] for c in count.values())
    print(f'  caught {caught} of {sum(sum(c[h] for h in ("set aside", "asked", "missed")) for c in count.values())};',
          f'tracks set aside {sum(w[1] == "set aside" for w in wrong)}, asked about {sum(w[1] == "asked" for w in wrong)}')
    for w in wrong:
        print('   ', *w)
