#!/usr/bin/python3
"""Score the relations that a command states about labelled sessions.

  score.py FOLDER --cmd 'foldout suggest {dir} --pairs 8 --format json' [--only d01,d02] [--variants named,mixed,anon] [--list]

FOLDER holds sessions (labels.json beside named/, mixed/, anon/). Figures, per session and variant and over all:
  stated   binding relations, and how many are true: of the labels' source and its copy, parallel or return, of two things made
           from one source, of a thing and what its source was made from, or of the two sides of one stereo sound
  across   false ones whose tracks are of different families
  recall   copies, parallels, returns: tracks bound to a source of theirs (directly, or through others); sides: pairs bound
  way      of the stated processed, sum and return that join a track and its source: a is the derived one
  against  first reasons that state a relation which the labels do not hold, of all first reasons
"""
import argparse, glob, json, os, shlex, subprocess, sys
import train


def related(lab):
    by = {t['file']: t for t in lab['tracks']}; anc = {f: train.ancestors(by, f) | {f} for f in by}; side = {}
    for a, b in lab['lr_pairs']: side[a], side[b] = b, a
    wide = {f: anc[f] | {side[q] for q in anc[f] if q in side} for f in by}
    return by, anc, lambda a, b: bool((wide[a] & anc[b]) or (anc[a] & wide[b]))


def judge(lab, key, doc, show):
    name = {t[key]: t['file'] for t in lab['tracks']}; by, anc, true = related(lab); f = lambda x: name.get(x.split('/')[-1], x); R = [(f(r['a']), f(r['b']), r) for r in doc.get('relations', [])]; R = [q for q in R if q[0] in by and q[1] in by]; bind = [q for q in R if q[2]['binding']]
    n = dict(stated=len(bind), true=0, across=0, way=0, ways=0, firsts=0, against=0); find = {t: t for t in by}
    def root(x):
        while find[x] != x: x = find[x]
        return x
    for a, b, r in bind:
        find[root(a)] = root(b); ok = true(a, b); n['true'] += ok
        if not ok: n['across'] += by[a]['family'] != by[b]['family']
        if not ok and show: print('      false:', a, r['kind'], 'of' if r['kind'] in ('processed', 'sum', 'return') else 'with', b, r['certainty'])
        if r['kind'] in ('processed', 'sum', 'return') and ok and (a in by[b]['source'] or b in by[a]['source']): n['ways'] += 1; n['way'] += b in by[a]['source']
    for kind, want in (('copies', 'copy'), ('parallels', 'parallel'), ('returns', 'return')):
        T = [t for t in lab['tracks'] if t['kind'] == want and t['source']]; hit = [t for t in T if any(root(t['file']) == root(s) for s in t['source'])]; n[kind], n[kind + '_of'] = len(hit), len(T)
        if show:
            for t in T:
                if t not in hit: print('      missed:', want, t['file'], 'of', t['source'], [(r['kind'], r['certainty']) for a, b, r in R if t['file'] in (a, b) and (a in t['source'] or b in t['source'])])
    n['sides'], n['sides_of'] = sum(root(a) == root(b) for a, b in lab['lr_pairs']), len(lab['lr_pairs'])
    for p in doc['pairs']:
        for t in p['tracks']:
            if t['reasons']:
                q = t['reasons'][0]; n['firsts'] += 1; other = [x for x in doc_names(doc) if x != t['file'] and (q['fact'].endswith(' ' + stem(x)) or q['fact'].startswith(stem(x) + ' is'))]
                if q['measure'] in ('coherence', 'share of energy') and other and not any(true(f(t['file']), f(x)) for x in other):
                    n['against'] += 1
                    if show: print('      against:', f(t['file']), ':', q)
    return n


def doc_names(doc): return [t['file'] for p in doc['pairs'] for t in p['tracks']]
def stem(x): return os.path.splitext(os.path.basename(x))[0]


def line(title, n):
    pc = lambda a, b: f'{a}/{b}' + (f' {100 * a / b:5.1f} %' if b else '       -'); print(f'{title:28s} stated {n["stated"]:4d} true {100 * n["true"] / max(1, n["stated"]):5.1f} % across {n["across"]} | copies {pc(n["copies"], n["copies_of"])} | parallels {pc(n["parallels"], n["parallels_of"])} | returns {pc(n["returns"], n["returns_of"])} | sides {pc(n["sides"], n["sides_of"])} | way {pc(n["way"], n["ways"])} | against {n["against"]}/{n["firsts"]}', flush=True)


if __name__ == '__main__':
    ap = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter); ap.add_argument('folder'); ap.add_argument('--cmd', required=True); ap.add_argument('--only', default=''); ap.add_argument('--variants', default='named,anon'); ap.add_argument('--list', action='store_true'); a = ap.parse_args(); total = {}
    for d in sorted(glob.glob(a.folder + '/*/labels.json')):
        d = os.path.dirname(d)
        if a.only and not any(o in os.path.basename(d) for o in a.only.split(',')): continue
        lab = json.load(open(d + '/labels.json'))
        for v in a.variants.split(','):
            if not os.path.isdir(f'{d}/{v}'): continue
            r = subprocess.run(shlex.split(a.cmd.format(dir=shlex.quote(f'{d}/{v}'))), capture_output=True, text=True)
            if r.returncode: sys.exit(f'{d}/{v}: {r.stderr}')
            n = judge(lab, 'file' if v == 'named' else v, json.loads(r.stdout), a.list); line(os.path.basename(d) + ' ' + v, n); t = total.setdefault(v, {})
            for k, x in n.items(): t[k] = t.get(k, 0) + x
    for v, t in total.items(): line('all ' + v, t)
