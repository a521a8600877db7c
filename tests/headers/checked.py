"""Checks that calls which fail for lack of memory are made through the helper that looks at them.

checked.py ROOT: each name stands in its helper's source alone; elsewhere a line that calls it is a fault.
"""
import pathlib
import re
import sys

HELPERS = {
    'src/base/mem.c': ['malloc', 'calloc', 'realloc', 'reallocarray', 'strdup', 'strndup', 'asprintf', 'vasprintf', 'abort'],
    'src/base/text_stream.c': ['fopencookie', 'open_memstream'],
    'src/show/store/json_value.c': ['json_object_set', 'json_object_set_new', 'json_array_append', 'json_array_append_new',
                                    'json_dumpf', 'json_dumps'],
}


def main(root):
    faults, seen = [], set()
    home = {name: path for path, names in HELPERS.items() for name in names}
    call = re.compile(r'(?<![\w.>"])(' + '|'.join(sorted(home)) + r')\(')
    for path in sorted((root / 'src').rglob('*.c')):
        where = path.relative_to(root).as_posix()
        for number, line in enumerate(path.read_text('utf-8').splitlines(), 1):
            for name in call.findall(line):
                if home[name] == where:
                    seen.add(name)
                else:
                    faults.append(f'{where}:{number}: {name}; call the helper of {home[name]}')
    # A helper that calls none of its names would leave the check without a subject.
    faults += [f'{path}: calls none of {", ".join(names)}' for path, names in HELPERS.items() if not seen & set(names)]
    print('\n'.join(faults) or f'{len(seen)} calls, each in its helper alone')
    return 1 if faults else 0


if __name__ == '__main__':
    sys.exit(main(pathlib.Path(sys.argv[1])))
