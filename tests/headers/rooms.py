"""Checks the include edges of src/.

A room includes only itself and the rooms above it, and within a room no unit (a .c file with its
header) includes another that leads back to it. Fails also when a room, a public header or a source
file is met that the list does not know, so that the list cannot fall behind, and when a room grows
past what one job needs.
"""
import pathlib
import re
import sys

# In the order of the data flow; `core` is what lies in src/ itself.
ROOMS = ['base', 'maths', 'media', 'trace', 'record', 'signal', 'clock', 'state',
         'study/input', 'study/take', 'study/curve', 'study/rule', 'study/plan', 'study/compare',
         'show/text', 'show/store', 'show/draw', 'show/chart', 'show/clip', 'show/page', 'show/marks',
         'show/screen', 'core', 'cli']
MOST_SOURCES = 32
# Files of src/ itself that only the library sees.
PUBLIC_ONLY_FROM = {'core': {'flinch/flinch.h', 'flinch/live.h', 'flinch/types.h', 'flinch/error.h'}, 'base': {'flinch/error.h'}}
INCLUDE = re.compile(r'^\s*#\s*include\s*([<"])([^>"]+)[>"]')
# Libraries that stay in one room or few; 'show' stands for all of its rooms.
LIBRARIES = {
    'libavformat': {'media'}, 'libavcodec': {'media'}, 'libswscale': {'media'}, 'libswresample': {'media'},
    'sndfile.h': {'media'}, 'yaml.h': {'study/input'}, 'jansson.h': {'show', 'cli'}, 'zlib.h': {'show/page'}, 'cairo': {'show'},
    'pango': {'show'}, 'gsl': {'maths', 'study'}, 'libavutil': {'media', 'maths', 'core'},
}

# It asks every library for its version, and nothing else.
OF_ALL_LIBRARIES = 'src/cli/versions.c'


def room_of(name):
    """The room of a path below src/, or of an include."""
    folder = str(pathlib.PurePosixPath(name).parent)
    return 'core' if folder == '.' else folder


def at_home(room, homes):
    return room in homes or room.split('/')[0] in homes


def check_line(room, where, mark, name, faults):
    if mark == '<':
        for library, homes in LIBRARIES.items():
            if (name.split('/')[0].startswith(library) and not at_home(room, homes)
                    and not where.startswith(OF_ALL_LIBRARIES)):
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


def circles(edges):
    """Sets of units that include each other in a circle: strongly connected parts of over one unit."""
    order, seen, parts = [], set(), []

    def visit(start, graph, out):
        stack = [(start, iter(sorted(graph.get(start, ()))))]
        seen.add(start)
        while stack:
            unit, others = stack[-1]
            following = next((o for o in others if o not in seen), None)
            if following is None:
                out.append(unit)
                stack.pop()
            else:
                seen.add(following)
                stack.append((following, iter(sorted(graph.get(following, ())))))

    for unit in sorted(edges):
        if unit not in seen:
            visit(unit, edges, order)
    back = {}
    for unit, others in edges.items():
        for other in others:
            back.setdefault(other, set()).add(unit)
    seen.clear()
    for unit in reversed(order):
        if unit not in seen:
            part = []
            visit(unit, back, part)
            if len(part) > 1:
                parts.append(sorted(part))
    return parts


def main(root):
    source = pathlib.Path(root) / 'src'
    faults, count, edges, sources = [], 0, {}, {}
    for path in sorted(source.rglob('*.[ch]')):
        relative = path.relative_to(source).as_posix()
        room, unit = room_of(relative), relative[:-2]
        if room not in ROOMS:
            faults.append(f'{path}: room {room} is not in the list of tests/headers/rooms.py')
            continue
        if relative.endswith('.c'):
            sources[room] = sources.get(room, 0) + 1
        for number, line in enumerate(path.read_text().splitlines(), 1):
            found = INCLUDE.match(line)
            if found:
                count += 1
                check_line(room, f'{path.relative_to(root)}:{number}', *found.groups(), faults)
                if found[1] == '"' and room_of(found[2]) == room and found[2][:-2] != unit:
                    edges.setdefault(unit, set()).add(found[2][:-2])
    faults += [f'a circle of includes: {", ".join(part)}' for part in circles(edges)]
    faults += [f'{room}: {n} sources are more than one job needs; part it' for room, n in sources.items() if n > MOST_SOURCES]
    print('\n'.join(faults) or f'{count} includes, all in order, no circle')
    return 1 if faults or count < 50 else 0


if __name__ == '__main__':
    sys.exit(main(sys.argv[1]))
