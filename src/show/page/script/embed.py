"""embed.py OUT SOURCE [--npm NPM]: the page's script and style as C.

SOURCE is src/show/page/script. The chart library is fetched by npm into a folder beside OUT, from the
committed package.json and package-lock.json; or it is taken from the folder that the environment
variable FLINCH_PAGE_LIBRARY names, which holds uPlot.iife.min.js, uPlot.min.css and LICENSE. Without
it the page keeps its still charts; FLINCH_PAGE_LIBRARY=none asks for that, =npm makes a failure of
npm an error.
"""
import argparse
import base64
import hashlib
import os
import pathlib
import shutil
import subprocess
import sys

# The scripts that become one, in order of use.
SCRIPTS = ['columns.js', 'inflate.js', 'pyramid.js', 'course.js', 'bands.js', 'panels.js', 'timeline.js', 'gestures.js',
           'readout.js', 'strips.js', 'tables.js', 'links.js', 'edges.js', 'main.js']
LIBRARY = ['uPlot.iife.min.js', 'uPlot.min.css', 'LICENSE']
NPM_CI = ['ci', '--ignore-scripts', '--no-audit', '--no-fund', '--fetch-retries=1', '--fetch-retry-mintimeout=1000']


def fetched(npm, source, folder):
    """The library's folder after npm ci; raises CalledProcessError."""
    folder.mkdir(parents=True, exist_ok=True)
    for name in ('package.json', 'package-lock.json'):
        shutil.copy(source / name, folder / name)
    subprocess.run([npm, *NPM_CI], cwd=folder, check=True, stdout=subprocess.DEVNULL)
    home = folder / 'node_modules' / 'uplot'
    return {'uPlot.iife.min.js': home / 'dist', 'uPlot.min.css': home / 'dist', 'LICENSE': home}


def library(npm, out, source):
    """Name → text of the library's files; None without the library."""
    given = os.environ.get('FLINCH_PAGE_LIBRARY', '')
    if given == 'none' or (not given and not npm):
        return None
    if given and given != 'npm':
        where = dict.fromkeys(LIBRARY, pathlib.Path(given))
    else:
        try:
            where = fetched(npm or 'npm', source, pathlib.Path(out).resolve().parent / 'page_library')
        except (subprocess.CalledProcessError, OSError) as why:
            advice = 'set FLINCH_PAGE_LIBRARY to a folder that holds the library'
            if given:
                sys.exit(f'embed.py: {why}; npm needs the network, or {advice}')
            print(f'embed.py: {why}: the report page will have still charts only; to try again, remove '
                  f'{out}, or {advice}', file=sys.stderr)
            return None
    try:
        return {name: (folder / name).read_text('utf-8') for name, folder in where.items()}
    except OSError as why:
        sys.exit(f'embed.py: {why}; the folder must hold {", ".join(LIBRARY)}')


def notice(licence):
    return '/* uPlot:\n' + licence.strip().replace('*/', '* /') + '\n*/\n'


def array(name, text):
    data = text.encode('utf-8') + b'\0'
    rows = [','.join(map(str, data[i:i + 40])) for i in range(0, len(data), 40)]
    return f'static const unsigned char {name}[] = {{\n' + ',\n'.join(rows) + '};\n'


def policy(scripts):
    digests = [base64.b64encode(hashlib.sha256(s.encode('utf-8')).digest()).decode() for s in scripts]
    return ' '.join(f"'sha256-{d}'" for d in digests)


def code(name, early, script, style):
    """A struct fl_page_code as C."""
    parts = (('early', early), ('script', script), ('style', style), ('policy', policy([early, script])))
    for _, part in parts[:3]:
        # What would end the element or change how its rest is read.
        assert not any(bad in part.lower() for bad in ('</script', '</style', '<!--', '<script')), 'cannot be embedded'
    text = ''.join(array(f'{name}_{kind}', part) for kind, part in parts)
    members = ',\n    '.join(f'(const char *){name}_{kind}' for kind, _ in parts)
    return text + f'const struct fl_page_code fl_{name}_code = {{{members}}};\n'


def wrapped(script):
    return f'\n(function () {{\n"use strict";\n{script}}})();\n'


def audit_code(source):
    read = lambda name: (source / name).read_text('utf-8')
    return code('audit', read('colours.js') + read('scripted.js'), wrapped(read('audit.js')), read('audit.css'))


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument('out')
    parser.add_argument('source')
    parser.add_argument('--npm')
    args = parser.parse_args()
    source = pathlib.Path(args.source)
    files = library(args.npm, args.out, source)
    text = '/* Made by embed.py from src/show/page/script and the chart library that it embeds. */\n#include "show/page/page_code.h"\n\n'
    if files is None:
        text += 'const struct fl_page_code fl_page_code = {0};\n'
    else:
        own = ''.join((source / name).read_text('utf-8') for name in SCRIPTS)
        script = notice(files['LICENSE']) + files['uPlot.iife.min.js'].strip() + wrapped(own)
        style = notice(files['LICENSE']) + files['uPlot.min.css'].strip() + '\n' + (source / 'page.css').read_text('utf-8')
        text += code('page', (source / 'colours.js').read_text('utf-8'), script, style)
    text += audit_code(source)
    pathlib.Path(args.out).write_text(text, 'utf-8')


main()
