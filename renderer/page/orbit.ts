import type { Stand } from './frame-view.ts';

/** Degrees the product turns per CSS pixel of the hand, and per press of an arrow key. */
const DEGREES_PER_PX = 0.4;
const DEGREES_PER_KEY = 15;

/** The camera never goes below the floor, and stops before it would turn over. */
const ELEVATION = { min: -2, max: 89 } as const;

export interface Orbit {
  getStand(): Stand;
  setStand(stand: Stand): void;
  isHeld(): boolean;
  dispose(): void;
}

/** Turns by dragging or by arrow keys. `onChange` follows every change of the stand and the end of a drag. */
export function createOrbit(element: HTMLElement, start: Stand, onChange: () => void): Orbit {
  let stand = start;
  let held: number | undefined;
  const ends = new AbortController();
  const { signal } = ends;
  // a finger turns the product sideways and scrolls the page up and down
  element.style.touchAction = 'pan-y';

  function move(yaw: number, elevation: number): void {
    stand = {
      yawDegrees: ((stand.yawDegrees + yaw + 540) % 360) - 180,
      elevationDegrees: Math.min(Math.max(stand.elevationDegrees + elevation, ELEVATION.min), ELEVATION.max),
    };
    onChange();
  }
  const on = <Name extends keyof HTMLElementEventMap>(name: Name, act: (event: HTMLElementEventMap[Name]) => void) =>
    element.addEventListener(name, act, { signal });

  on('pointerdown', (event) => {
    if (event.button !== 0) return;
    held = event.pointerId;
    element.setPointerCapture(held);
  });
  on('pointermove', (event) => {
    if (event.pointerId === held) move(-event.movementX * DEGREES_PER_PX, event.movementY * DEGREES_PER_PX);
  });
  const release = () => {
    held = undefined;
    onChange();
  };
  on('pointerup', release);
  on('pointercancel', release);
  on('keydown', (event) => {
    const steps: Readonly<Record<string, readonly [number, number]>> = {
      ArrowLeft: [DEGREES_PER_KEY, 0],
      ArrowRight: [-DEGREES_PER_KEY, 0],
      ArrowUp: [0, DEGREES_PER_KEY],
      ArrowDown: [0, -DEGREES_PER_KEY],
    };
    const step = steps[event.key];
    if (!step) return;
    event.preventDefault();
    move(...step);
  });

  return {
    getStand: () => stand,
    setStand(next) {
      stand = next;
      onChange();
    },
    isHeld: () => held !== undefined,
    dispose: () => ends.abort(),
  };
}
