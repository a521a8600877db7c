"""What is written from the option tables: the man page's options, and completion for shells.

Completion is asked for in the shells themselves, where they are installed: bash's function is called,
fish is asked by `complete -C`, zsh sits at a pseudo-terminal and is given a Tab.
"""
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import unittest

FLINCH, WRITE_TEXTS, PAGE = (os.path.abspath(sys.argv.pop(1)) for _ in range(3))


def output(*args, **options):
    return subprocess.run(list(map(str, args)), check=True, stdout=subprocess.PIPE, encoding='utf-8', timeout=60,
                          **options).stdout


def commands():
    return re.findall(r'^  (\w+) ', output(FLINCH, '--help'), re.MULTILINE)


def options(command):
    """(letter or '', name, placeholder or '') of each option in a command's help, as it stands there."""
    return re.findall(r'^  (?:-(\w), |    )--([\w-]+)(?: (\w+))?', output(FLINCH, command, '--help'), re.MULTILINE)


class ManPage(unittest.TestCase):
    def test_every_command_and_option_is_in_it(self):
        page = output(WRITE_TEXTS, 'man', PAGE)
        sections = dict(re.findall(r'^# (.*)\n\n((?:(?!# ).*\n)*)', page, re.MULTILINE))
        self.assertGreater(len(commands()), 5)
        for command in commands():
            self.assertTrue(f'\n*{command}*\n' in '\n' + sections['COMMANDS'], f'docs/flinch.1.scd tells nothing of {command}')
            text = sections.get(f'OPTIONS OF {command.upper()}', '')
            for group in re.findall(r'(?<=for )(\w+)', ''.join(re.findall(r'^And the options (.*), below', text, re.MULTILINE))):
                text += sections[f'OPTIONS FOR {group.upper()}']
            for letter, name, value in options(command):
                if name != 'help':
                    head = f'*-{letter}*, ' * bool(letter) + f'*--{name}*' + f' _{value}_' * bool(value)
                    self.assertTrue(f'\n{head}\n\t' in '\n' + text, f'{command}: no {head}')

    def test_its_markup_is_sound(self):
        if not shutil.which('scdoc'):
            self.skipTest('no scdoc')
        roff = subprocess.run(['scdoc'], input=output(WRITE_TEXTS, 'man', PAGE), check=True, stdout=subprocess.PIPE,
                              encoding='utf-8').stdout
        self.assertTrue(r'\fB--mark-flicks\fR \fIWHICH\fR' in roff.replace('\\-', '-'), 'options are set off')

    def test_a_page_without_a_place_is_refused(self):
        with tempfile.NamedTemporaryFile('w') as page:
            page.write('flinch(1)\n')
            page.flush()
            done = subprocess.run([WRITE_TEXTS, 'man', page.name], stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        self.assertEqual(done.returncode, 1)


class Completion(unittest.TestCase):
    """One question a row: what is typed, and what is offered."""
    QUESTIONS = (
        ('flinch ru', {'run'}),
        ('flinch help cl', {'clip'}),
        ('flinch run --ou', {'--out'}),
        ('flinch show --chart-th', {'--chart-themes'}),
        ('flinch clip --place ', {'inset', 'over', 'extend'}),
        ('flinch clip --place ex', {'extend'}),
        ('flinch look --mark-flicks tr', {'tripped'}),
        ('flinch show --charts cu', {'curve'}),
        ('flinch show resul', {'results/'}),
        ('flinch run resul', {'results/', 'result.yaml'}),
        ('flinch run result.', {'result.yaml'}),
        ('flinch run -o resul', {'results/'}),
        ('flinch look x --trace result.', {'result.yaml'}),
        ('flinch run x --jobs re', set()),
    )

    @classmethod
    def setUpClass(cls):
        cls.folder = pathlib.Path(tempfile.mkdtemp(prefix='flinch-completion-'))
        (cls.folder / 'work' / 'results').mkdir(parents=True)
        (cls.folder / 'work' / 'result.yaml').write_text('')
        for shell, name in (('bash', 'flinch.bash'), ('zsh', '_flinch'), ('fish', 'flinch.fish')):
            (cls.folder / name).write_text(output(WRITE_TEXTS, shell))

    @classmethod
    def tearDownClass(cls):
        shutil.rmtree(cls.folder)

    def shell(self, name):
        if not shutil.which(name):
            self.skipTest(f'no {name}')
        return name

    def bash(self, line):
        script = ('. "$1"; shift; COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); _flinch; '
                  '[ ${#COMPREPLY[@]} = 0 ] || printf "%s\\n" "${COMPREPLY[@]}"')
        found = output(self.shell('bash'), '-c', script, 'bash', self.folder / 'flinch.bash', *line.split(' '),
                       cwd=self.folder / 'work').split('\n')[:-1]
        return {word + '/' if (self.folder / 'work' / word).is_dir() else word for word in found}

    def fish(self, line):
        found = output(self.shell('fish'), '--no-config', '-c', 'source $argv[1]; complete -C $argv[2]',
                       self.folder / 'flinch.fish', line, cwd=self.folder / 'work',
                       env={**os.environ, 'HOME': str(self.folder), 'XDG_CONFIG_HOME': str(self.folder)})
        return {row.split('\t')[0] for row in found.splitlines()}

    def zsh(self, *lines):
        """For each line what a Tab makes of it, and what is listed meanwhile."""
        script = r'''
zmodload zsh/zpty
zpty -b shell zsh -f -i
say() { zpty -w -n shell "$1"; }
# Up to a sign that what was typed does not hold.
hear() { zpty -r shell heard "*$1*"; }
say "stty cols 160; PS1=; LISTMAX=1000; fpath=(${(q)1} \$fpath); autoload -Uz compinit; compinit -u -D"$'\n'
say "zstyle ':completion:*' list-colors ''; bindkey '^I' complete-word; unsetopt zle_bracketed_paste"$'\n'
say 'shown() { zle -I; print -r -- "<${:-<}$BUFFER>${:->}"; BUFFER= }; zle -N shown; bindkey "^G" shown'$'\n'
say 'print "re""ady"'$'\n'
hear ready
shift
for line; do
    say "$line"$'\t\a'
    hear '>>'
    print -r -- "$heard"
    print -r -- '===='
done
zpty -d shell
'''
        heard = output(self.shell('zsh'), '-f', '-c', script, 'zsh', self.folder, *lines, cwd=self.folder / 'work',
                       env={**os.environ, 'TERM': 'dumb'}).split('====\n')[:-1]
        self.assertEqual(len(heard), len(lines), heard)
        return [(re.findall(r'<<(.*?)>>', text)[-1], text) for text in heard]

    def test_bash(self):
        for line, want in self.QUESTIONS:
            self.assertEqual(self.bash(line), want, line)
        self.assertEqual(self.bash('flinch clip --place = ov'), {'over'})  # as bash parts --place=ov
        self.assertEqual(self.bash('flinch clip --place ='), {'inset', 'over', 'extend'})

    def test_fish(self):
        for line, want in self.QUESTIONS:
            self.assertEqual(self.fish(line), want, line)

    def test_zsh(self):
        clear = [(line, want) for line, want in self.QUESTIONS if len(want) == 1]
        for (line, (word,)), (became, _) in zip(clear, self.zsh(*(line for line, _ in clear))):
            kept = line.rpartition(' ')[0]
            self.assertRegex(became, '^' + re.escape(f'{kept} {word}') + '[ =,]?$')
        (_, listed), (became, _) = self.zsh('flinch clip --place ', 'flinch run x --jobs re')
        for word in ('inset', 'over', 'extend'):
            self.assertIn(word, listed)
        self.assertEqual(became, 'flinch run x --jobs re')

    def test_all_commands_and_options_are_offered(self):
        names = set(commands())
        want = {c: {'--' + name for _, name, _ in options(c)} for c in names}
        letters = {c: {'-' + letter for letter, _, _ in options(c) if letter} for c in names}
        if shutil.which('bash'):
            self.assertEqual(self.bash('flinch '), names | {'--help', '--version'})
            for c in names:
                self.assertEqual(self.bash(f'flinch {c} -'), want[c] | letters[c])
        if shutil.which('fish'):
            self.assertEqual(self.fish('flinch '), names)
            for c in names:
                self.assertEqual({o.rstrip('=') for o in self.fish(f'flinch {c} --')}, want[c])
        if shutil.which('zsh'):
            order = sorted(names)
            for c, (_, listed) in zip(order, self.zsh(*(f'flinch {c} --' for c in order))):
                for name in want[c] if len(want[c]) > 1 else ():
                    self.assertRegex(listed, rf'{name}\b', c)


if __name__ == '__main__':
    unittest.main(verbosity=2)
