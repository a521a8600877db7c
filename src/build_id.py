"""Writes the build id: a digest of the sources and of the compiler, for the keys of stored takes.

build_id.py SOURCES OUT DEPFILE WORD…: OUT becomes a C header with FL_BUILD_ID, 64 hexadecimal digits of SHA-256 over
every .c, .h and meson.build below SOURCES (name and content, in order of name) and the words, which say how they are
compiled. Two builds of the same sources have the same id wherever they lie; DEPFILE names all that it depends on,
folders too, so that a file that is added counts.
"""
import hashlib
import pathlib
import sys


def sources(root):
    return sorted(p for p in root.rglob('*') if p.suffix in ('.c', '.h') or p.name == 'meson.build')


def digest(root, words):
    sha = hashlib.sha256()
    for path in sources(root):
        data = path.read_bytes()
        sha.update(f'{path.relative_to(root).as_posix()} {len(data)}\n'.encode())
        sha.update(data)
    for word in words:
        sha.update(f'{len(word)} {word}\n'.encode())
    return sha.hexdigest()


def escaped(path):
    return str(path).replace('\\', '\\\\').replace(' ', '\\ ').replace('#', '\\#').replace('$', '$$')


def main(root, out, depfile, *words):
    root, out = pathlib.Path(root), pathlib.Path(out)
    header = f'/* Written by build_id.py. */\n#define FL_BUILD_ID "{digest(root, words)}"\n'
    if not out.exists() or out.read_text() != header:  # else nothing is compiled again
        out.write_text(header)
    folders = {p.parent for p in sources(root)}
    depfile_text = f'{escaped(out)}: ' + ' '.join(escaped(p) for p in sorted({*sources(root), *folders})) + '\n'
    pathlib.Path(depfile).write_text(depfile_text)


if __name__ == '__main__':
    main(*sys.argv[1:])
