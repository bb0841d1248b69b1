"""What an engineer would write in an afternoon: markers, homography, warp, threshold, area. Kept as the yardstick.

It knows the sheet, and nothing of lens, height of the part, shadow, print scale, or how far it can be trusted.
"""

from __future__ import annotations

import cv2
import numpy as np

from areakit.imaging.marks.frame_layout import layouts

PX_PER_MM = 10.0
SMALLEST_MM2 = 2.0


def part_areas(data: bytes, layout: str = "A4-r1") -> list[float]:
    """Return the area of each part in the field of the sheet, holes taken off, largest first. [mm2]"""
    image = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR)
    if image is None:
        raise ValueError("not a picture")
    sheet = layouts()[layout]

    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_100)
    detector = cv2.aruco.ArucoDetector(dictionary, cv2.aruco.DetectorParameters())
    corners, ids, _ = detector.detectMarkers(cv2.cvtColor(image, cv2.COLOR_BGR2GRAY))
    if ids is None:
        raise ValueError("no marker seen")

    seen, true = [], []
    for quad, number in zip(corners, np.ravel(ids), strict=True):
        if int(number) in sheet.marker_ids:
            seen.append(np.asarray(quad).reshape(4, 2))
            true.append(sheet.marker_corners_mm(int(number)))
    if len(seen) < 3:
        raise ValueError("fewer than three markers seen")
    flat, _ = cv2.findHomography(np.vstack(seen), np.vstack(true) * PX_PER_MM, cv2.RANSAC, 3.0)

    size = round(sheet.width_mm * PX_PER_MM), round(sheet.height_mm * PX_PER_MM)
    warped = cv2.warpPerspective(image, flat, size, flags=cv2.INTER_LINEAR)
    left, top, right, bottom = (round(side * PX_PER_MM) + 5 for side in sheet.field_mm)
    window = warped[top : bottom - 10, left : right - 10]

    # The window is blue: whatever is less saturated than Otsu's threshold is part.
    saturation = cv2.cvtColor(window, cv2.COLOR_BGR2HSV)[:, :, 1]
    _, mask = cv2.threshold(cv2.GaussianBlur(saturation, (5, 5), 0), 0, 255, cv2.THRESH_BINARY_INV + cv2.THRESH_OTSU)
    contours, nesting = cv2.findContours(mask, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    areas = []
    for i, contour in enumerate(contours):
        if nesting[0][i][3] >= 0:
            continue
        area = cv2.contourArea(contour)
        hole = nesting[0][i][2]
        while hole >= 0:
            area -= cv2.contourArea(contours[hole])
            hole = nesting[0][hole][0]
        if area > SMALLEST_MM2 * PX_PER_MM**2:
            areas.append(area / PX_PER_MM**2)
    return sorted(areas, reverse=True)
