"""The recipes of docs/sharing.md, as they stand there, and what both tests of them need."""
import pathlib
import re

import footage

DOCS = pathlib.Path(__file__).resolve().parents[2] / 'docs'
COMPARED = ('.json', '.csv', '.html', '.svg', '.edl', '.vtt')


def recipe(language):
    (text,) = re.findall(rf'^```{language}\n(.*?)^```', (DOCS / 'sharing.md').read_text(), re.MULTILINE | re.DOTALL)
    return text


def survey(folder, takes=4):
    """A session of short takes; its path."""
    lines = ['session: Trial\n', 'defaults: {game: Glass Canyon}\n', 'takes:\n']
    for i in range(takes):
        movie = footage.pan(folder / f'take{i}.mkv', 3, seed=i + 1)
        lines.append(f'  - {{id: t{i}, footage: {movie}}}\n')
    path = folder / 'survey.yaml'
    path.write_text(''.join(lines))
    return path


def written(folder):
    """{path in the folder: bytes} of everything that must not depend on who measured."""
    files = (path for path in folder.rglob('*') if path.suffix in COMPARED)
    return {str(path.relative_to(folder)): path.read_bytes() for path in files}
