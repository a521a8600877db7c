"""refresh.py WRITE_DOCS DOCS [--write]: the parts of docs/ that follow from tables in the source.

Compares docs/*.schema.json, and in docs/*.md each block between `<!-- NAME: … -->` and
`<!-- end -->`, with what WRITE_DOCS makes of the tables; --write (`ninja schemas`) puts it there.
"""
import json
import pathlib
import re
import subprocess
import sys
import tempfile

BLOCK = re.compile(r'(<!-- ([a-z-]+): [^\n]*-->\n).*?(<!-- end -->)', re.DOTALL)


def faults(schema, path):
    """Fields that say nothing of themselves, and names that two rows of one object share."""
    required = schema.get('required', [])
    yield from (f'{path}: two fields "{name}"' for name in sorted(set(required)) if required.count(name) > 1)
    for name, field in schema.get('properties', {}).items():
        if not field.get('description'):
            yield f'{path}/{name}: no meaning'
        yield from faults(field, f'{path}/{name}')
    if 'items' in schema:
        yield from faults(schema['items'], path + '[]')


def main(program, docs, write):
    made = {}
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run([program, folder], check=True)
        for path in pathlib.Path(folder).iterdir():
            made[path.name] = path.read_text('utf-8')
    lists = {name.removesuffix('.list.md'): text for name, text in made.items() if name.endswith('.list.md')}
    wanted = {docs / name: text for name, text in made.items() if name.endswith('.schema.json')}
    placed = set()
    for path in docs.glob('*.md'):
        text = path.read_text('utf-8')
        placed |= {m[2] for m in BLOCK.finditer(text)}
        wanted[path] = BLOCK.sub(lambda m: m[1] + lists[m[2]] + m[3], text)
    stale = [p for p, text in wanted.items() if not p.exists() or p.read_text('utf-8') != text]
    for path in stale:
        print(f'{path.name} does not say what the tables say: ' + ('written anew' if write else 'run `ninja schemas`'))
        if write:
            path.write_text(wanted[path], 'utf-8')
    for name in sorted(set(lists) - placed):
        print(f'no page of docs/ has a block for {name}')
    strays = sorted(p.name for p in set(docs.glob('*.schema.json')) - set(wanted))
    for name in strays:
        print(f'{name}: no table says what it describes')
    bad = [fault for path, text in wanted.items() if path.suffix == '.json' for fault in faults(json.loads(text), path.name)]
    print('\n'.join(bad + [f'{len(made)} schemas and lists']))
    return 1 if bad or strays or set(lists) - placed or (stale and not write) else 0


if __name__ == '__main__':
    sys.exit(main(sys.argv[1], pathlib.Path(sys.argv[2]), '--write' in sys.argv[3:]))
