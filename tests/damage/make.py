"""Damaged and hostile files, made from one small clip: always the same ones.

Each case is (kind, name, command line after `flinch`, or None where the file is to be looked at).
"""
import pathlib
import random
import re
import shutil
import struct
import subprocess

HERE = pathlib.Path(__file__).resolve().parent
CLIP = HERE / 'clip.mkv'
SEEDS = HERE.parent / 'fuzz' / 'seeds'

# name of the file: how FFmpeg is to write the clip
FORMATS = {
    'h264.mkv': ['-c', 'copy'],
    'h264.mp4': ['-c:v', 'copy', '-an'],
    'front.mp4': ['-c:v', 'copy', '-c:a', 'aac', '-movflags', '+faststart'],
    'parts.mp4': ['-c:v', 'copy', '-an', '-movflags', '+frag_keyframe+empty_moov'],
    'h264.ts': ['-c:v', 'copy', '-c:a', 'aac'],
    'h264.flv': ['-c:v', 'copy', '-an'],
    'h264.nut': ['-c', 'copy'],
    'plain.h264': ['-c:v', 'copy', '-an'],
    'hevc.mkv': ['-c:v', 'libx265', '-preset', 'ultrafast', '-x265-params', 'log-level=none', '-an'],
    'vp9.webm': ['-c:v', 'libvpx-vp9', '-deadline', 'realtime', '-cpu-used', '8', '-c:a', 'copy'],
    'mpeg4.avi': ['-c:v', 'mpeg4', '-an'],
    'mjpeg.mov': ['-c:v', 'mjpeg', '-pix_fmt', 'yuvj420p', '-an'],
    'ffv1.mkv': ['-c:v', 'ffv1', '-frames:v', '40', '-an'],
    'mpeg2.mpg': ['-c:v', 'mpeg2video', '-r', '60', '-an'],
    'raw.y4m': ['-frames:v', '30', '-an'],
    'prores.mov': ['-c:v', 'prores_ks', '-frames:v', '20', '-an'],
}


def ffmpeg(*args):
    subprocess.run(['ffmpeg', '-v', 'error', '-y', '-nostdin', *map(str, args)], check=True, stderr=subprocess.DEVNULL)


def damages(data, rng):
    """(what, bytes): cut, bent, swapped, doubled, wiped."""
    n = len(data)
    for share in (0.001, 0.02, 0.3, 0.7, 0.97):
        yield f'cut{share}', data[:max(1, int(n * share))]
    for count in (1, 8, 64, n // 100):
        out = bytearray(data)
        for _ in range(count):
            out[rng.randrange(n)] ^= 1 << rng.randrange(8)
        yield f'bent{count}', bytes(out)
    for count in (4, 40):  # where lengths and counts are declared
        out = bytearray(data)
        for _ in range(count):
            out[rng.randrange(min(n, 1200))] = rng.choice((0, 0xFF, 0x7F, 0x80))
        yield f'head{count}', bytes(out)
    a, b = sorted(rng.randrange(n) for _ in range(2))
    yield 'wiped', data[:a] + bytes(b - a) + data[b:]
    yield 'filled', data[:a] + b'\xff' * (b - a) + data[b:]
    yield 'lost', data[:a] + data[b:]
    yield 'doubled', data[:b] + data[a:]
    yield 'swapped', data[b:] + data[a:b] + data[:a]
    yield 'after', rng.randbytes(500) + data


def bent_files(folder, files, rng):
    for path in files:
        data = path.read_bytes()
        for what, out in damages(data, rng):
            to = folder / f'{path.stem}-{what}{path.suffix}'
            to.write_bytes(out)
            yield to


def mp4_steps(data, steps):
    """Every frame's length in the time-to-sample box (ISO/IEC 14496-12, 8.6.1.2), in turn from steps."""
    at = data.index(b'stts')
    start = at - 4
    frames = struct.unpack_from('>I', data, data.index(b'stsz') + 12)[0]
    table = b''.join(struct.pack('>II', 1, steps[i % len(steps)] & 0xFFFFFFFF) for i in range(frames))
    box = struct.pack('>I4sII', 16 + len(table), b'stts', 0, frames) + table
    old = struct.unpack_from('>I', data, start)[0]
    out = bytearray(data[:start] + box + data[start + old:])
    for name in (b'moov', b'trak', b'mdia', b'minf', b'stbl'):  # the index stands at the end: no offset moves
        head = out.rindex(name, 0, start) - 4
        struct.pack_into('>I', out, head, struct.unpack_from('>I', out, head)[0] + len(box) - old)
    return bytes(out)


def times(folder):
    """Times that no recorder writes. In ticks of the file; the clip's has 15,360 or so a second."""
    data = (folder / 'h264.mp4').read_bytes().replace(b'edts', b'free')  # an edit list would cut them off
    scale = struct.unpack_from('>I', data, data.index(b'mdhd') + 16)[0]
    tick = scale // 120
    hour = 3600 * scale
    for name, steps in {
        'all-zero': [0], 'one-tick': [1], 'hour-apart': [hour], 'ten-minutes-apart': [hour // 6], 'jump-26h': [tick] * 89 + [26 * hour],
        'jumps-2h': [tick] * 29 + [2 * hour], 'descending': [-tick], 'there-and-back': [tick, -tick],
        'largest': [2**31 - 1], 'smallest': [-2**31], 'back-once': [tick] * 89 + [-50 * tick], 'wild': [tick, 7, 10**9, 1, 0, tick],
    }.items():
        to = folder / f'times-{name}.mp4'
        to.write_bytes(mp4_steps(data, steps))
        yield to
    for value in (1, 2, 1000, 2**31 - 1, 2**32 - 1):  # ticks a second
        out = bytearray(data)
        struct.pack_into('>I', out, data.index(b'mdhd') + 16, value)
        to = folder / f'times-scale{value}.mp4'
        to.write_bytes(bytes(out))
        yield to
    mkv = (folder / 'h264.mkv').read_bytes()
    for value in (b'\x00\x00\x01', b'\xff\xff\xff', b'\x00\x00\x00'):  # RFC 9559, TimestampScale
        to = folder / f'times-mkv-{value.hex()}.mkv'
        to.write_bytes(re.sub(rb'\x2a\xd7\xb1\x83...', b'\x2a\xd7\xb1\x83' + value, mkv, count=1, flags=re.S))
        yield to
    # RFC 9559, Cluster Timestamp: the second begins at 2^62, or far off.
    for name, expression in {'2e62': 'if(gt(N,60),4611686018427387904,PTS)', 'from2e62': '4611686018427387904+PTS',
                             'negative': 'PTS-9000000', 'still': '5', 'down': '90000-N*700'}.items():
        to = folder / f'times-{name}.nut'
        try:
            ffmpeg('-i', CLIP, '-an', '-c:v', 'copy', '-bsf:v', f'setts=pts={expression}:dts={expression}', to)
        except subprocess.CalledProcessError:
            pass  # what it wrote up to there is a case too
        if to.exists() and to.stat().st_size:
            yield to
    for rate in ('F1000000000:1', 'F1:1000000000', 'F0:0', 'F2147483647:2147483647', 'F16000:1'):
        to = folder / f'times-{rate.replace(":", "-")}.y4m'
        to.write_bytes(re.sub(rb'F\d+:\d+', rate.encode(), (folder / 'raw.y4m').read_bytes(), count=1))
        yield to


def hostile(folder):
    clip = folder / 'h264.mkv'
    texts = {
        'list.m3u8': f'#EXTM3U\n#EXT-X-TARGETDURATION:10\n#EXTINF:4,\n{clip}\n#EXT-X-ENDLIST\n',
        'list.mkv': f'#EXTM3U\n#EXT-X-TARGETDURATION:10\n#EXTINF:4,\n/etc/passwd\n#EXT-X-ENDLIST\n',
        'endless.m3u8': f'#EXTM3U\n#EXT-X-TARGETDURATION:10\n#EXTINF:4,\n{clip}\n',
        'list.ffconcat': f"ffconcat version 1.0\nfile '{clip}'\n",
        'list.sdp': 'v=0\no=- 0 0 IN IP4 127.0.0.1\ns=x\nc=IN IP4 127.0.0.1\nt=0 0\nm=video 5004 RTP/AVP 96\na=rtpmap:96 H264/90000\n',
        'list.mpd': f'<?xml version="1.0"?><MPD xmlns="urn:mpeg:dash:schema:mpd:2011"><BaseURL>{clip}</BaseURL></MPD>',
        'text.txt': 'nothing to see\n' * 500,
        'subtitle.srt': '1\n00:00:01,000 --> 00:00:02,000\nwords\n',
        'huge.y4m': 'YUV4MPEG2 W16384 H16384 F60:1 Ip A1:1 C420jpeg\nFRAME\n',
        'tall.y4m': 'YUV4MPEG2 W2 H999999 F60:1 Ip A1:1 C420jpeg\nFRAME\n',
        'negative.y4m': 'YUV4MPEG2 W-5 H-5 F60:1 Ip A1:1 C420jpeg\nFRAME\n',
        'line\nbreak.mkv': 'x',
    }
    for name, text in texts.items():
        (folder / name).write_text(text)
        yield folder / name
    (folder / 'empty.mkv').write_bytes(b'')
    (folder / 'zeros.mkv').write_bytes(bytes(100000))
    (folder / 'noise.mp4').write_bytes(random.Random(5).randbytes(100000))
    (folder / 'folder.mkv').mkdir()
    (folder / 'loop.mkv').symlink_to('loop.mkv')
    yield from (folder / n for n in ('empty.mkv', 'zeros.mkv', 'noise.mp4', 'folder.mkv', 'loop.mkv', 'absent.mkv'))
    yield pathlib.Path('/dev/null')


def traces(folder, rng):
    for kind in ('csv', 'evdev', 'usb_capture', 'hid'):
        for path in sorted((SEEDS / kind).iterdir()):
            data = path.read_bytes()
            for what, out in list(damages(data, rng))[::3]:
                to = folder / f'trace-{kind}-{path.stem}-{what}{path.suffix}'
                to.write_bytes(out)
                yield to


SESSION = '''session: Trial
defaults: {game: Glass Canyon, counts_per_inch: 800}
takes:
  - {id: a, footage: h264.mkv, use: [[0, 1.2]], notes: {driver: "1.2"}}
'''


def sessions(folder, rng):
    texts = {
        'deep': 'session: ' + '[' * 20000,
        'aliases': 'a: &a [x,x]\nb: &b [*a,*a]\nc: &c [*b,*b]\nsession: *c\n',
        'long': 'session: ' + 'x' * 3000000 + '\n',
        'many': 'session: T\ntakes:\n' + ''.join(f'  - {{id: a{i}, footage: gone.mkv}}\n' for i in range(3)),
        'binary': '\x00\x01\x02',
        'utf16': '\ufeffsession: T\n',
        'tag': 'session: !!python/object:os.system x\n',
        'tab': 'session:\tT\n\ttakes: x\n',
    }
    data = SESSION.encode()
    for name, text in texts.items():
        (folder / f'session-{name}.yaml').write_text(text)
        yield folder / f'session-{name}.yaml'
    for k in range(3):
        for what, out in damages(data, rng):
            to = folder / f'session-{k}-{what}.yaml'
            to.write_bytes(out)
            yield to


def results(folder, whole, rng):
    """Copies of a folder of results, one file of each damaged."""
    for path in sorted(p for p in whole.rglob('*') if p.suffix in ('.json', '.csv')):
        for what, out in list(damages(path.read_bytes(), rng))[::2]:
            to = folder / f'results-{path.name}-{what}'
            shutil.copytree(whole, to)
            (to / path.relative_to(whole)).write_bytes(out)
            yield to


def footage_files(folder):
    for name, how in FORMATS.items():
        ffmpeg('-i', CLIP, *how, folder / name)
        yield folder / name
