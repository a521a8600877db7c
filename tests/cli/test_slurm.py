"""The recipe of docs/sharing.md for Slurm, on a scheduler of its own: one slurmctld and two slurmd on this host.

Needs Debian's packages slurm-wlm and munge; where they are not installed, it says so and is skipped (exit 77). All
that it starts listens on this host alone, on ports that were free, and is ended with it.
"""
import getpass
import os
import pathlib
import shutil
import socket
import subprocess
import sys
import tempfile
import unittest

import sharing

os.environ['PATH'] += ':/usr/sbin'
FLINCH = os.path.abspath(sys.argv.pop(1))
NEEDED = ('munged', 'slurmctld', 'slurmd', 'sbatch', 'ffmpeg')
CONFIG = """\
ClusterName=test
SlurmctldHost={host}(127.0.0.1)
SlurmUser={user}
SlurmdUser={user}
SlurmctldPort={ports[0]}
AuthType=auth/munge
AuthInfo=socket={folder}/munge.sock
StateSaveLocation={folder}/state
SlurmdSpoolDir={folder}/%n
SlurmctldPidFile={folder}/ctld.pid
SlurmdPidFile={folder}/%n.pid
SlurmctldLogFile={folder}/ctld.log
SlurmdLogFile={folder}/%n.log
ProctrackType=proctrack/linuxproc
TaskPlugin=task/none
SelectType=select/cons_tres
SelectTypeParameters=CR_CPU
SchedulerParameters=batch_sched_delay=1,sched_interval=2
AccountingStorageType=accounting_storage/none
JobAcctGatherType=jobacct_gather/none
MpiDefault=none
SwitchType=switch/none
ReturnToService=2
SlurmdParameters=config_overrides
NodeName=n1 NodeHostname={host} NodeAddr=127.0.0.1 Port={ports[1]} CPUs=2 RealMemory=1000 State=UNKNOWN
NodeName=n2 NodeHostname={host} NodeAddr=127.0.0.1 Port={ports[2]} CPUs=2 RealMemory=1000 State=UNKNOWN
PartitionName=p Nodes=n1,n2 Default=YES MaxTime=INFINITE State=UP
"""


def free_ports(n):
    sockets = [socket.socket() for _ in range(n)]
    for s in sockets:
        s.bind(('127.0.0.1', 0))
    ports = [s.getsockname()[1] for s in sockets]
    for s in sockets:
        s.close()
    return ports


class Cluster:
    """Runs while it is entered; env is what a user of it needs."""

    def __init__(self, folder):
        self.folder = folder
        self.daemons = []
        self.env = {k: v for k, v in os.environ.items() if not k.startswith(('SLURM', 'SBATCH'))}
        self.env['SLURM_CONF'] = str(folder / 'slurm.conf')

    def start(self, *words):
        with open(self.folder / f'{len(self.daemons)}-{words[0]}.out', 'w') as log:
            self.daemons.append(subprocess.Popen(words, env=self.env, stdout=log, stderr=subprocess.STDOUT))

    def __enter__(self):
        try:
            self.start_all()
        except BaseException:
            self.__exit__()
            raise
        return self

    def start_all(self):
        for name in ('state', 'n1', 'n2'):
            (self.folder / name).mkdir()
        (self.folder / 'munge.key').write_bytes(os.urandom(128))
        (self.folder / 'munge.key').chmod(0o400)
        (self.folder / 'slurm.conf').write_text(CONFIG.format(folder=self.folder, ports=free_ports(3), user=getpass.getuser(),
                                                              host=socket.gethostname().split('.')[0]))
        place = [f'--{what}-file={self.folder}/munge.{what}' for what in ('key', 'log', 'pid', 'seed')]
        self.start('munged', '--foreground', '--force', f'--socket={self.folder}/munge.sock', *place)
        while not (self.folder / 'munge.sock').exists():
            self.alive()
        self.start('slurmctld', '-D')
        for node in ('n1', 'n2'):
            self.start('slurmd', '-D', '-N', node)
        while self.ask('sinfo', '-h', '-t', 'idle', '-o', '%D').strip() != '2':
            self.alive()

    def ask(self, *words):
        return subprocess.run(words, env=self.env, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, encoding='utf-8').stdout

    def alive(self):
        for daemon in self.daemons:
            if daemon.poll() is not None:
                said = ''.join(p.read_text()[-2000:] for p in self.folder.glob('*.out'))
                raise RuntimeError(f'{daemon.args[0]} ended: {said}')

    def __exit__(self, *_):
        for daemon in reversed(self.daemons):
            daemon.terminate()
            daemon.wait()


class Slurm(unittest.TestCase):
    def test_an_array_and_one_job_that_gathers(self):
        with tempfile.TemporaryDirectory(prefix='fl-slurm-') as name:
            folder = pathlib.Path(name)
            session = sharing.survey(folder)
            subprocess.run([FLINCH, 'run', session, '-o', folder / 'whole', '-q'], check=True)
            (folder / 'survey.sh').write_text(sharing.recipe('sh'))
            tools = folder / 'bin'
            tools.mkdir()
            (tools / 'flinch').symlink_to(FLINCH)
            daemons = folder / 'd'
            daemons.mkdir(mode=0o755)
            os.chmod(folder, 0o755)  # munge refuses a socket that others cannot reach
            with Cluster(daemons) as cluster:
                # SBATCH_WAIT: each sbatch of the recipe returns when its jobs have ended, with their status
                env = {**cluster.env, 'PATH': f'{tools}:{os.environ["PATH"]}', 'SBATCH_WAIT': '1'}
                done = subprocess.run(['sh', folder / 'survey.sh', session, folder / 'out'], cwd=folder, env=env,
                                      stdout=subprocess.PIPE, stderr=subprocess.STDOUT, encoding='utf-8')
            logs = {p.name: p.read_text() for p in folder.glob('slurm-*.out')}
            self.assertEqual(done.returncode, 0, (done.stdout, logs))
            self.assertEqual(sum('1 of 1 stored' in text and '(0 reused)' in text for text in logs.values()), 4, logs)
            self.assertEqual(sum('4 reused' in text for text in logs.values()), 1, logs)
            whole, shared = sharing.written(folder / 'whole'), sharing.written(folder / 'out')
            self.assertEqual(sorted(whole), sorted(shared))
            for path in whole:
                self.assertTrue(whole[path] == shared[path], f'{path} differs')


if __name__ == '__main__':
    lacking = [name for name in NEEDED if not shutil.which(name)]
    if lacking:
        print('skipped: not installed:', ' '.join(lacking), '(Debian: slurm-wlm, munge, ffmpeg)')
        sys.exit(77)
    unittest.main(verbosity=2)
