"""The shared library shows exactly the symbols in the list."""
import subprocess
import sys

library, list_file = sys.argv[1:]
table = subprocess.run(['nm', '-D', '--defined-only', library], check=True, capture_output=True, text=True)
shown = {line.split()[-1].split('@')[0] for line in table.stdout.splitlines() if line.split()[1] != 'A'}
shown = {name for name in shown if not name.startswith('__')}
with open(list_file) as f:
    wanted = set(f.read().split())
for name in sorted(shown - wanted):
    print(f'shown, but not in the list: {name}')
for name in sorted(wanted - shown):
    print(f'in the list, but not shown: {name}')
print(f'{len(shown)} symbols')
sys.exit(shown != wanted)
