"""The hierarchical model once more, by JAGS 4 (Plummer 2003, Proc DSC; Debian package `jags`), which draws at
random where flinch integrates on grids. Skipped where it is not installed.

    check_jags.py PRINT_SESSION

For each figure: the share of JAGS' draws below it must be what the figure says, within what so many draws can tell.
"""
import json
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile

CHAINS, BURN, DRAWS, THIN = 4, 4000, 12000, 6
MODEL = """model {
  for (i in 1:N) { y[i] ~ dbern(0.01 + 0.98 * ilogit(slope[setting[take[i]]] * (x[i] - own[take[i]]))) }
  for (k in 1:K) { own[k] ~ dnorm(theta[setting[k]], 1 / (spread[setting[k]] * spread[setting[k]])) }
  for (s in 1:S) {
    theta[s] ~ dunif(low[s], high[s])
    spread[s] ~ dt(0, 1 / (0.25 * 0.25), 3) T(1.0E-4, )
    b[s] ~ dnorm(mean, 1 / (1.5 * 1.5))
    slope[s] <- pow(2, max(-1, min(6.5, b[s])))
    another[s] ~ dnorm(theta[s], 1 / (spread[s] * spread[s]))
  }
  mean ~ dunif(0, 6)
}
"""
# Sessions of the recovery study: few flicks and soft curves, where the priors have most to say.
CASES = [('takes_2_0.3', 3), ('same_2_0.2', 5), ('few_15', 2)]


def vector(name, values):
    return f'"{name}" <- c({", ".join(map(str, values))})\n'


def data_of(session):
    x, y, take, setting = [], [], [], []
    low, high = [], []
    for s, curve in enumerate(session, 1):
        peaks = [v for t in curve['takes'] for v in t['x']]
        low.append(min(peaks) - 3)
        high.append(max(peaks) + 3)
        for t in curve['takes']:
            setting.append(s)
            x += t['x']
            y += t['tripped']
            take += [len(setting)] * len(t['x'])
    return (vector('x', x) + vector('y', y) + vector('take', take) + vector('setting', setting) + vector('low', low)
            + vector('high', high) + f'"N" <- {len(x)}\n"K" <- {len(setting)}\n"S" <- {len(session)}\n')


def start_of(session, chain):
    """Chains start apart: the spread wide in some, narrow in others."""
    middle = [curve['v50'][1] for curve in session]
    takes = [m for m, curve in zip(middle, session) for _ in curve['takes']]
    spread = [[0.05, 0.15, 0.4, 0.8][chain]] * len(session)
    return (vector('theta', middle) + vector('own', takes) + vector('spread', spread) + vector('b', [3] * len(session))
            + f'"mean" <- 3\n".RNG.name" <- "base::Mersenne-Twister"\n".RNG.seed" <- {11 + chain}\n')


def draws_of(session, work):
    (work / 'model').write_text(MODEL)
    (work / 'data').write_text(data_of(session))
    script = 'model in "model"\ndata in "data"\n' + f'compile, nchains({CHAINS})\n'
    for chain in range(CHAINS):
        (work / f'start{chain}').write_text(start_of(session, chain))
        script += f'parameters in "start{chain}", chain({chain + 1})\n'
    script += f'initialize\nupdate {BURN}\n'
    script += ''.join(f'monitor {v}, thin({THIN})\n' for v in ('theta', 'another', 'spread', 'slope'))
    script += f'update {DRAWS}\ncoda *\n'
    (work / 'script').write_text(script)
    done = subprocess.run(['jags', 'script'], cwd=work, stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
                          encoding='utf-8', timeout=280)
    if not (work / 'CODAindex.txt').exists():
        sys.exit(done.stdout)
    where = {}
    for line in (work / 'CODAindex.txt').read_text().splitlines():
        name, first, last = line.split()
        where[name if '[' in name else name + '[1]'] = (int(first) - 1, int(last))
    chains = [[float(line.split()[1]) for line in (work / f'CODAchain{c + 1}.txt').read_text().splitlines()]
              for c in range(CHAINS)]
    return {name: [chain[a:b] for chain in chains] for name, (a, b) in where.items()}


def share_below(chains, at):
    """The share of draws below, and how far the chains differ in it: its standard error, as they are independent."""
    shares = [sum(v < at for v in c) / len(c) for c in chains]
    mean = sum(shares) / len(shares)
    return mean, (sum((s - mean) ** 2 for s in shares) / (len(shares) - 1) / len(shares)) ** 0.5


def check(session, draws):
    failures, checked = 0, 0
    for s, curve in enumerate(session, 1):
        wanted = [('theta', curve['v50'], (0.025, 0.5, 0.975)), ('another', curve['another'], (0.025, 0.975)),
                  ('spread', curve['spread'][1:], (0.5, 0.975)), ('slope', curve['slope'][1:2], (0.5,))]
        for name, figures, shares in wanted:
            for at, want in zip(figures, shares):
                got, error = share_below(draws[f'{name}[{s}]'], at)
                allowed = 4 * error + (0.03 if name in ('spread', 'slope') else 0.01)
                checked += 1
                if abs(got - want) > allowed:
                    failures += 1
                    print(f'{name}[{s}]: {got:.4f} of the draws lie below {at:.4f}, not {want} (allowed {allowed:.4f})')
    return failures, checked


def main():
    if not shutil.which('jags'):
        print('jags is not installed: apt-get install --no-install-recommends jags')
        sys.exit(77)
    failures = 0
    for scenario, number in CASES:
        printed = subprocess.run([sys.argv[1], scenario, str(number)], stdout=subprocess.PIPE, encoding='utf-8', check=True)
        session = json.loads(re.sub(r'nan|-?inf', 'null', printed.stdout))
        if any(v is None for curve in session for v in curve['v50'] + curve['another']):
            sys.exit(f'{scenario} {number}: an open end cannot be checked')
        with tempfile.TemporaryDirectory(prefix='flinch-jags-') as work:
            bad, checked = check(session, draws_of(session, pathlib.Path(work)))
        print(f'{scenario} {number}: {checked - bad} of {checked} figures agree')
        failures += bad
    sys.exit(failures > 0)


main()
