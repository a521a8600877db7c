"""Floors on the practice takes: footage of a game engine, with truth, that is no part of the
project. Skips where the folder is not there."""
import json
import pathlib
import subprocess
import sys
import tempfile
import unittest

FLINCH, SOURCE, PRACTICE = (pathlib.Path(sys.argv.pop(1)).resolve() for _ in range(3))
sys.path.insert(0, str(SOURCE / 'tests/accuracy'))
import score  # noqa: E402

rows, gains = {}, {}


def setUpModule():
    with tempfile.TemporaryDirectory(prefix='flinch-practice-') as out:
        subprocess.run([FLINCH, 'run', PRACTICE / 'session.yaml', '-o', out, '--quiet'], check=True, timeout=800)
        for take in ('hair-trigger', 'never-on', 'always-on'):
            rows[take] = score.score(out, PRACTICE / take)
            truth = json.loads((PRACTICE / take / 'truth.json').read_text())['mouse']['deg_per_count']
            found = json.loads((pathlib.Path(out) / f'takes/{take}.json').read_text())['sensitivity']
            gains[take] = {key: found[f'degrees_per_count{key}'] / truth for key in ('', '_low', '_high')}


class Practice(unittest.TestCase):
    def test_hair_trigger_lapses(self):
        self.assertEqual(rows['hair-trigger']['lapses_true'], 27)
        self.assertGreaterEqual(rows['hair-trigger']['f1'], 0.9, rows['hair-trigger'])

    def test_controls_have_no_lapse(self):
        for take in ('never-on', 'always-on'):
            with self.subTest(take=take):
                self.assertEqual(rows[take]['lapses_found'], 0, rows[take])

    def test_sensitivity_is_found(self):
        for take, gain in gains.items():
            with self.subTest(take=take):
                self.assertLess(abs(gain[''] - 1), 0.02, gain)
                self.assertTrue(gain['_low'] < 1 < gain['_high'], gain)


if __name__ == '__main__':
    if not (PRACTICE / 'session.yaml').is_file():
        print(f'skipped: the practice takes are not at {PRACTICE}')
        sys.exit(77)
    unittest.main()
