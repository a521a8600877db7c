"""Small invented recordings, made with the ffmpeg program."""
import pathlib
import random
import shutil
import subprocess

RATE = 60


def ffmpeg(*args):
    subprocess.run(['ffmpeg', '-v', 'error', '-y', '-nostdin', *map(str, args)], check=True)


def pan(path, seconds, seed=1, size='320x180', codec=('-c:v', 'libx264', '-preset', 'ultrafast', '-crf', '18')):
    """A window that swings to and fro over a fixed noise picture, resting now and then."""
    width, height = map(int, size.split('x'))
    swing = f"(100+90*sin({0.7 + 0.1 * seed}*PI*t)*gt(mod(t,3),1))"
    wall = f"geq=lum='128+60*sin(X*0.21+{seed})*cos(Y*0.17)+50*sin(X*0.05)*sin(Y*0.08+X*0.03)':cb=128:cr=128"
    ffmpeg('-f', 'lavfi', '-i', f'nullsrc=s={width + 240}x{height + 60}:r={RATE}:d=1,trim=end_frame=1,{wall},'
           f"loop=-1:1,setpts=N/({RATE}*TB),crop={width}:{height}:x='{swing}':y=20",
           '-t', seconds, '-pix_fmt', 'yuv420p', *codec, path)
    return path


def still(path, seconds=2):
    ffmpeg('-f', 'lavfi', '-i', f'color=gray:s=320x180:r={RATE}:d={seconds}', '-pix_fmt', 'yuv420p',
           '-c:v', 'libx264', '-preset', 'ultrafast', path)
    return path


def one_frame(path):
    ffmpeg('-f', 'lavfi', '-i', f'testsrc2=s=320x180:r={RATE}:d=1', '-frames:v', 1, '-pix_fmt', 'yuv420p', path)
    return path


def no_frames(path):
    """A Matroska file with a video track and nothing in it."""
    ffmpeg('-f', 'lavfi', '-i', f'testsrc2=s=320x180:r={RATE}:d=1', '-t', 0, '-c:v', 'mpeg4', path)
    return path


def audio_only(path):
    ffmpeg('-f', 'lavfi', '-i', 'sine=d=1', '-c:a', 'flac', path)
    return path


def cut(path, whole, share=0.6):
    data = pathlib.Path(whole).read_bytes()
    pathlib.Path(path).write_bytes(data[:int(len(data) * share)])
    return path


def size_change(path, folder):
    """Two transport streams of different frame size, one behind the other."""
    with open(path, 'wb') as out:
        for size in ('320x180', '480x270'):
            part = folder / f'{size}.ts'
            ffmpeg('-f', 'lavfi', '-i', f'testsrc2=s={size}:r={RATE}:d=1', '-c:v', 'mpeg2video', part)
            with open(part, 'rb') as f:
                shutil.copyfileobj(f, out)
    return path


def trace(path, seconds, seed=1, start_s=0.0):
    """Bursts of counts that belong to nothing: somebody else's hand."""
    rng = random.Random(seed)
    lines, t, speed = ['time_us,dx,dy'], start_s, 0
    while t < start_s + seconds:
        if rng.random() < 0.01:
            speed = rng.choice([0, 0, rng.uniform(-30, 30)])
        lines.append(f'{round(t * 1e6)},{round(speed)},{round(speed * 0.2)}')
        t += 0.002
    pathlib.Path(path).write_text('\n'.join(lines) + '\n')
    return path
