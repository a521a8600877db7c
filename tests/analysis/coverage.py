"""Lines of a folder of sources that tests have run, by gcov's own JSON (GCC manual, "Invoking gcov").

    coverage.py BUILD_FOLDER SOURCE_FOLDER LEAST_PERCENT
"""
import collections
import json
import pathlib
import subprocess
import sys


def main():
    build, source, least = pathlib.Path(sys.argv[1]).resolve(), pathlib.Path(sys.argv[2]).resolve(), float(sys.argv[3])
    runs = collections.defaultdict(lambda: collections.defaultdict(int))  # file: line: times
    # A file that no test runs has notes and no counts; gcov takes it as never run.
    for notes in sorted(build.glob('src/**/*.gcno')):
        said = subprocess.run(['gcov', '--json-format', '--stdout', notes], cwd=build, capture_output=True, check=True).stdout
        for text in said.splitlines():
            for one in json.loads(text)['files']:
                path = (build / one['file']).resolve()
                if source in path.parents:
                    for line in one['lines']:
                        runs[path][line['line_number']] += line['count']
    rooms = collections.defaultdict(lambda: [0, 0])
    for path, lines in runs.items():
        for key in (str(path.parent.relative_to(source)), 'all'):
            rooms[key][0] += sum(n > 0 for n in lines.values())
            rooms[key][1] += len(lines)
    for room, (run, lines) in sorted(rooms.items()):
        if room != 'all':
            print(f'{room:15} {100 * run / lines:5.1f} % of {lines}')
    share = 100 * rooms['all'][0] / rooms['all'][1]
    print(f'lines of src that tests run: {share:.1f} % of {rooms["all"][1]}')
    return share < least


if __name__ == '__main__':
    sys.exit(main())
