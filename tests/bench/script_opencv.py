"""script_opencv.py FOOTAGE FRAMES: what one would script: how much each frame differs from the one before, and how far
the picture moved, by OpenCV on two threads."""

import sys

import cv2
import numpy

cv2.setNumThreads(2)
video = cv2.VideoCapture(sys.argv[1])
before = None
for _ in range(int(sys.argv[2])):
    got, picture = video.read()
    if not got:
        break
    now = cv2.cvtColor(picture, cv2.COLOR_BGR2GRAY)
    if before is not None:
        change = cv2.absdiff(now, before).mean()
        shift, peak = cv2.phaseCorrelate(before.astype(numpy.float32), now.astype(numpy.float32))
        print(f'{change:.3f} {shift[0]:.2f} {shift[1]:.2f} {peak:.3f}')
    before = now
