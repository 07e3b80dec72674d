#!/usr/bin/env python3
"""The lever escapement as three hinged bodies in MuJoCo, held against beatwright's motion: accuracy and speed.

Units: mm, mg, ms, so that force is mN and torque uN m; printed figures are in deg, s and s/s. README.md has the rest.
"""

import argparse
import json
import math
import pathlib
import re
import resource
import subprocess
import sys
import tempfile
import time

try:
    import mujoco
    import numpy as np
except ImportError as missing:
    sys.exit(f'error: the package "{missing.name}" is not here\nhint: pip install "mujoco<4" numpy')

from profiles import chains, hull, polygon, thickened

THICK_MM = 0.2  # of every prism: chosen, far more than any overlap
HARD = 0.9999  # MuJoCo's upper bound of the impedance of a contact
START_DEG = 270.0  # where `beatwright motion --beats` begins
OTHER = "choose another movement"
BLOCK_MS = 1.0  # MuJoCo goes on by so much between two looks at the balance, which is free a ms about its extreme


def stop(what, hint):
    sys.exit(f"error: {what}\nhint: {hint}")


class Beatwright:
    """The program, its answers, and the processor time they took."""

    def __init__(self, program, movement):
        self.program, self.movement = program, movement

    def ask(self, command, *options):
        """Standard output, and processor seconds of the process."""
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        line = [self.program, command, self.movement, *options]
        try:
            done = subprocess.run(line, capture_output=True, text=True)
        except OSError as error:
            stop(f"could not run {self.program}: {error.strerror}", "cargo build --release, or --beatwright PATH")
        if done.returncode > 1:  # 1: a finding, an answer all the same
            stop(f"{' '.join(line)} ended with {done.returncode}: {done.stderr.strip()}", "see what it says")
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        return done.stdout, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime

    def json(self, command, *options):
        return json.loads(self.ask(command, *options, "--json")[0])

    def speed(self):
        """Seconds of the watch in a second of the processor, between two counts of beats: without the start."""
        counts = 200, 4200
        played = [self.ask("motion", "--beats", str(n), "--csv") for n in counts]
        beat_s = [float(text.strip().splitlines()[-1].split(",")[1]) / 1e3 for text, _ in played]
        return (beat_s[1] - beat_s[0]) / (played[1][1] - played[0][1])


def damping_ratio(rebound):
    """Of a spring and damper that never pull: docs/theory/oracle.md, calibration."""
    low, high = 0.0, 1.0 - 1e-9
    for _ in range(100):
        z = 0.5 * (low + high)
        low, high = (z, high) if math.exp(-2 * z * math.acos(z) / math.sqrt(1 - z * z)) > rebound else (low, z)
    return low


class Movement:
    """What the program says of a movement: values, outlines, where they stand as drawn."""

    def __init__(self, beatwright):
        checked = beatwright.json("check")
        self.value = {p["path"]: p["value"] for p in checked["parameters"]}
        self.bankings_deg = [checked["figures"][pallet]["banking_deg"] for pallet in ("exit", "entry")]
        with tempfile.TemporaryDirectory() as folder:
            file = pathlib.Path(folder, "assembly.svg")
            self.at = beatwright.json("drawing", "-o", str(file), "--plain", "--sheet", "page")["moment"]
            svg = file.read_text(encoding="utf-8")
        view = re.search(r'data-scale="([^"]+)" data-origin-x-mm="([^"]+)" data-origin-y-mm="([^"]+)"', svg)
        scale, *origin = map(float, view.groups())
        paths = dict(re.findall(r'<path class="[^"]*" data-part="([^"]+)"[^>]* d="([^"]+)"', svg))
        self.outline = {part: polygon(path, origin, scale) for part, path in paths.items()}
        for path in ("wheel.train_friction_ratio", "balance.spring_cubic_ratio"):
            if self.value[path] != 0.0:
                stop(f"{path} is {self.value[path]}, which this model does not know: it needs 0", OTHER)


def model_of(m, step_ms, blow_steps):
    """The movement as MuJoCo's model."""
    v, out = m.value, m.outline
    axis = {"wheel": np.zeros(2)}
    axis |= {k: 0.5 * (out[p].max(0) + out[p].min(0)) for k, p in (("lever", "pallet-arbor"), ("balance", "staff"))}
    inertia = {body: 100 * v[f"{body}.inertia_mg_cm2"] for body in axis}  # mg mm2
    omega = math.pi * v["balance.beats_per_hour"] / 3.6e6  # rad/ms
    stiff = inertia["balance"] * omega**2  # uN m/rad
    quality, dry = v["balance.quality_ratio"], v["balance.dry_loss_ratio"]
    viscous = (1 - dry) * stiff / (omega * quality)  # uN m ms; with the next, docs/theory/oscillator.md, E2
    rub = dry * math.pi * stiff * math.radians(v["balance.quality_amplitude_deg"]) / (4 * quality)

    def from_axis(points, body):
        return np.linalg.norm(points - axis[body], axis=1)

    reach = from_axis(out["wheel"], "wheel").max()
    # From the foot of a tooth's front over its tip to where the back turns hollow, it is convex.
    teeth = [c for c in chains(out["wheel"]) if len(c) > 2 and from_axis(c, "wheel").max() > 0.97 * reach]
    if len(teeth) != v["wheel.tooth_count"]:
        stop(f"{len(teeth)} tips are seen on a wheel of {v['wheel.tooth_count']:.0f} teeth", OTHER)
    stones = [out["stone-entry"], out["stone-exit"]]
    near_mm = 1.3 * from_axis(out["jewel"], "balance").max()
    fork = [c for c in chains(out["lever"]) if from_axis(c, "balance").min() < near_mm]
    pieces = {"wheel": teeth, "balance": [out["jewel"]]}
    pieces["lever"] = stones + [thickened(c, out["lever"]) for c in fork]

    def law(surface, of=""):
        z = damping_ratio(v[f"surfaces.{surface}_rebound_ratio"])
        return f'solref{of}="{blow_steps * step_ms} {z}" solimp{of}="{HARD} {HARD} 1 0.5 2"'

    low, high = m.bankings_deg
    lever = f'limited="true" range="{math.radians(low)} {math.radians(high)}" {law("banking", "limit")} '
    lever += f'frictionloss="{v["lever.pivot_friction_un_m"]}"'
    balance = f'stiffness="{stiff}" springref="0" damping="{viscous}" frictionloss="{rub}"'
    balance_deg = m.at["jewel_deg"] - v["roller.turn_deg"]
    drawn = ("wheel", m.at["wheel_deg"], ""), ("lever", m.at["lever_deg"], lever), ("balance", balance_deg, balance)
    meshes, bodies = "", ""
    for body, at_deg, more in drawn:
        geoms = f'<joint type="hinge" axis="0 0 1" ref="{math.radians(at_deg)}" {more}/>'
        for k, piece in enumerate(pieces[body]):
            flat = hull(piece) - axis[body]
            prism = np.vstack([np.c_[flat, np.full(len(flat), z)] for z in (-0.5 * THICK_MM, 0.5 * THICK_MM)])
            meshes += f'<mesh name="{body}{k}" vertex="{" ".join(f"{x:.12g}" for x in prism.ravel())}"/>'
            geoms += f'<geom name="{body}{k}" type="mesh" mesh="{body}{k}" contype="0" conaffinity="0" mass="0"/>'
        bodies += (
            f'<body name="{body}" pos="{axis[body][0]} {axis[body][1]} 0">{geoms}<inertial pos="0 0 0" mass="1" '
            f'diaginertia="{inertia[body]} {inertia[body]} {inertia[body]}"/></body>'
        )

    def pair(one, two, surface):
        mu = v[f"surfaces.{surface}_friction_ratio"]
        return f'<pair geom1="{one}" geom2="{two}" condim="3" friction="{mu} {mu} 0 0 0" {law(surface)}/>'

    pairs = "".join(pair(f"wheel{j}", f"lever{s}", "stone") for j in range(len(teeth)) for s in (0, 1))
    pairs += "".join(pair("balance0", f"lever{k}", "jewel") for k in range(2, len(pieces["lever"])))
    model = mujoco.MjModel.from_xml_string(
        f'<mujoco><compiler angle="radian"/><option timestep="{step_ms}" gravity="0 0 0" integrator="implicitfast" '
        f'cone="elliptic" impratio="10" tolerance="1e-12" ccd_tolerance="1e-9" ccd_iterations="100">'
        f'<flag multiccd="disable" island="disable"/></option><asset>{meshes}</asset>'
        f"<worldbody>{bodies}</worldbody><contact>{pairs}</contact></mujoco>"
    )
    # A body whose centre of mass lies on its axis does not move for MuJoCo, so that its contacts get no give at all and
    # the solver diverges: state what a contact at its reach feels.
    for body in axis:
        far = max(from_axis(p, body).max() for p in pieces[body])
        model.body_invweight0[model.body(body).id] = far**2 / inertia[body], 1 / inertia[body]
    return model, omega


def play(model, omega, begin, torque, beats):
    """Amplitudes of so many beats in deg, seconds of the watch, processor seconds, wall seconds."""
    data = mujoco.MjData(model)
    data.qpos[:] = [math.radians(a) for a in begin]
    data.qfrc_applied[0] = -torque
    block = max(1, round(BLOCK_MS / model.opt.timestep))
    amplitudes, sign = [], 0.0
    cpu, wall = time.process_time(), time.perf_counter()
    while len(amplitudes) < beats:
        mujoco.mj_step(model, data, block)
        now = math.copysign(1.0, data.qvel[2])
        if sign and now != sign:
            # Near the extreme the balance is free: what it has is its amplitude.
            amplitudes.append(math.degrees(math.hypot(data.qpos[2], data.qvel[2] / omega)))
        sign = now
        if not math.isfinite(data.qvel[2]) or data.warning.number.any():
            stop(f"MuJoCo gave up at {data.time / 1e3:.6f} s", "a smaller --step-us")
        if data.time > 1.5 * (len(amplitudes) + 2) * math.pi / omega:
            stop(f"the balance stands after {len(amplitudes)} beats", "a smaller --step-us")
    return amplitudes, data.time / 1e3, time.process_time() - cpu, time.perf_counter() - wall


def main():
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--movement", default="demo", help="movement file, or demo")
    ask.add_argument("--beatwright", default="target/release/beatwright", help="the program")
    ask.add_argument("--beats", type=int, default=16, help="beats to play from 270 deg")
    ask.add_argument("--step-us", type=float, nargs="+", default=[20.0, 10.0, 5.0, 2.0, 1.0], help="time steps, us")
    ask.add_argument("--blow-steps", type=float, default=4.0, help="a contact's time constant, in steps; 2 or more")
    ask.add_argument("--within-deg", type=float, default=0.05, help="accuracy at which speeds are compared, deg")
    ask.add_argument("--speed", type=float, help="beatwright's speed as cargo bench -p motion prints it, s/s")
    told = ask.parse_args()
    if told.beats < 4 or min(told.step_us) <= 0 or told.blow_steps < 2:
        ask.error("--beats needs 4 or more, --blow-steps 2 or more, --step-us more than 0 us")

    beatwright = Beatwright(told.beatwright, told.movement)
    movement = Movement(beatwright)
    played, steady = beatwright.json("motion", "--beats", str(told.beats)), beatwright.json("motion").get("steady")
    expected = np.array([abs(b["extreme_deg"]) for b in played["beats"]])
    if len(expected) < told.beats or steady is None:
        stop(f"beatwright played {len(expected)} of {told.beats} beats, or found no steady motion", OTHER)
    guard_nj = sum(row["nj"] for row in played["ledger"] if "guard" in row["place"])
    if guard_nj != 0.0:
        stop(f"the guard touches ({guard_nj} nJ), which this model leaves out", OTHER)
    print(f"MuJoCo {mujoco.__version__}, one thread; movement {told.movement}, {told.beats} beats from {START_DEG} deg")
    print(f"beatwright: last beat {expected[-1]:.4f} deg; its speed is taken before and after each of MuJoCo's runs")
    print("Off is MuJoCo less beatwright, deg; s/s: seconds of the watch in one of the core, of the wall clock.")
    print("step us | last deg | off last | off most | steady off, expected | s/s core | s/s wall | beatwright | ratio")
    # What a beat gains too much adds up until an amplitude farther off loses it again: docs/theory/oracle.md.
    back = 1 - math.exp(-math.log(1000) / steady["settling_oscillations"] / 2)
    good = None
    # Else MuJoCo writes what it warns of into a file in the folder where it runs.
    mujoco.set_mju_user_warning(lambda text: print(f"MuJoCo warns: {text}", file=sys.stderr))
    begin = movement.at["wheel_deg"], movement.at["lever_deg"], -START_DEG
    for step_us in sorted(told.step_us, reverse=True):
        model, omega = model_of(movement, step_us / 1e3, told.blow_steps)
        before = told.speed or beatwright.speed()
        got, watch_s, cpu_s, wall_s = play(model, omega, begin, movement.value["wheel.torque_un_m"], told.beats)
        own = 0.5 * (before + (told.speed or beatwright.speed()))
        off = np.array(got) - expected
        most, ratio = np.abs(off).max(), own * cpu_s / watch_s
        gained = np.diff(off, prepend=0.0)
        steady_deg, error_deg = gained.mean() / back, gained.std(ddof=1) / math.sqrt(told.beats) / back
        print(
            f"{step_us:7g} | {got[-1]:8.4f} | {off[-1]:+8.4f} | {most:8.4f} | {steady_deg:+11.2f} +- {error_deg:5.2f}",
            f"| {watch_s / cpu_s:8.4f} | {watch_s / wall_s:8.4f} | {own:10.0f} | {ratio:5.0f}",
            flush=True,
        )
        good = (good or (step_us, ratio)) if most <= told.within_deg else None
    within = f"Within {told.within_deg} deg of beatwright at every beat"
    if good:
        print(f"{within}: from {good[0]:g} us down; there beatwright is {good[1]:.0f} times as fast.")
    else:
        print(f"{within}: not with the smallest step, so there is no speed to compare.")


if __name__ == "__main__":
    main()
