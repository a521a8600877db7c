"""Checks the include edges of src/: a room includes only itself and the rooms above it.

Fails also when a room, a public header or a source file is met that the list does not know, so
that the list cannot fall behind.
"""
import pathlib
import re
import sys

# In the order of the data flow; `core` is what lies in src/ itself.
ROOMS = ['base', 'maths', 'media', 'trace', 'signal', 'clock', 'flip', 'state', 'study', 'show', 'core', 'cli']
# Files of src/ itself that only the library sees.
PUBLIC_ONLY_FROM = {'core': {'flinch/flinch.h', 'flinch/types.h', 'flinch/error.h'}, 'base': {'flinch/error.h'}}
INCLUDE = re.compile(r'^\s*#\s*include\s*([<"])([^>"]+)[>"]')
# Libraries that stay in one room or few.
LIBRARIES = {
    'libavformat': {'media'}, 'libavcodec': {'media'}, 'libswscale': {'media'}, 'libswresample': {'media'}, 'sndfile.h': {'media'},
    'yaml.h': {'study'}, 'jansson.h': {'show', 'cli'}, 'cairo': {'show'}, 'pango': {'show'},
    'gsl': {'maths', 'study'}, 'libavutil': {'media', 'maths', 'core'},
}


def room_of(name):
    return name.split('/')[0] if '/' in name else 'core'


def check_line(room, where, mark, name, faults):
    if mark == '<':
        for library, homes in LIBRARIES.items():
            if name.split('/')[0].startswith(library) and room not in homes:
                faults.append(f'{where}: {room} uses {name}, which belongs to {", ".join(sorted(homes))}')
        return
    if name.startswith('flinch/'):
        if name not in PUBLIC_ONLY_FROM.get(room, set()):
            faults.append(f'{where}: {room} includes the public header {name}')
        return
    other = room_of(name)
    if other not in ROOMS:
        faults.append(f'{where}: "{name}" names no room; write "room/file.h"')
    elif ROOMS.index(other) > ROOMS.index(room):
        faults.append(f'{where}: {room} includes {name}, a room below it')


def main(root):
    source = pathlib.Path(root) / 'src'
    faults, edges = [], 0
    for path in sorted(source.rglob('*.[ch]')):
        room = room_of(str(path.relative_to(source)))
        if room not in ROOMS:
            faults.append(f'{path}: room {room} is not in the list of tests/headers/rooms.py')
            continue
        for number, line in enumerate(path.read_text().splitlines(), 1):
            found = INCLUDE.match(line)
            if found:
                edges += 1
                check_line(room, f'{path.relative_to(root)}:{number}', *found.groups(), faults)
    print('\n'.join(faults) or f'{edges} includes, all in order')
    return 1 if faults or edges < 50 else 0


if __name__ == '__main__':
    sys.exit(main(sys.argv[1]))
