import { MathUtils, type PerspectiveCamera, Vector3 } from "three";

// Orbit turns a camera about a point: z up, azimuth clockwise from north as seen from above, as legs are measured.
export class Orbit {
  readonly target = new Vector3(0, 0, 900);
  azimuth = 150; // of the camera, degrees from north
  altitude = 14; // of the camera above the target
  distance = 4200; // mm

  #pointers = new Map<number, { x: number; y: number }>();

  constructor(
    readonly camera: PerspectiveCamera,
    readonly element: HTMLElement,
    readonly changed: () => void,
  ) {
    camera.up.set(0, 0, 1);
    element.addEventListener("pointerdown", this.#down);
    element.addEventListener("pointermove", this.#move);
    element.addEventListener("pointerup", this.#up);
    element.addEventListener("pointercancel", this.#up);
    element.addEventListener("wheel", this.#wheel, { passive: false });
    element.addEventListener("keydown", this.#key);
    this.place();
  }

  dispose() {
    this.element.removeEventListener("pointerdown", this.#down);
    this.element.removeEventListener("pointermove", this.#move);
    this.element.removeEventListener("pointerup", this.#up);
    this.element.removeEventListener("pointercancel", this.#up);
    this.element.removeEventListener("wheel", this.#wheel);
    this.element.removeEventListener("keydown", this.#key);
  }

  place() {
    this.altitude = MathUtils.clamp(this.altitude, -4, 89.9);
    this.distance = MathUtils.clamp(this.distance, 300, 30000);
    const az = MathUtils.degToRad(this.azimuth);
    const alt = MathUtils.degToRad(this.altitude);
    this.camera.position
      .set(Math.sin(az) * Math.cos(alt), Math.cos(az) * Math.cos(alt), Math.sin(alt))
      .multiplyScalar(this.distance)
      .add(this.target);
    this.camera.lookAt(this.target);
    this.changed();
  }

  turn(azimuth: number, altitude: number) {
    this.azimuth += azimuth;
    this.altitude += altitude;
    this.place();
  }

  nearer(factor: number) {
    this.distance *= factor;
    this.place();
  }

  #down = (e: PointerEvent) => {
    this.element.setPointerCapture(e.pointerId);
    this.#pointers.set(e.pointerId, { x: e.clientX, y: e.clientY });
  };

  #up = (e: PointerEvent) => void this.#pointers.delete(e.pointerId);

  #move = (e: PointerEvent) => {
    const was = this.#pointers.get(e.pointerId);
    if (!was) return;
    const [a, b] = [...this.#pointers.values()];
    const spread = () => (a && b ? Math.hypot(a.x - b.x, a.y - b.y) : 0);
    const before = spread();
    const dx = e.clientX - was.x;
    const dy = e.clientY - was.y;
    was.x = e.clientX;
    was.y = e.clientY;
    if (before > 0) {
      this.nearer(before / Math.max(spread(), 1));
    } else if (e.shiftKey || e.buttons === 4) {
      this.#shift(dx, dy);
    } else {
      this.turn(dx * 0.4, dy * 0.3);
    }
  };

  // #shift moves the target with the pointer.
  #shift(dx: number, dy: number) {
    const perPixel = (2 * this.distance * Math.tan(MathUtils.degToRad(this.camera.fov / 2))) / this.element.clientHeight;
    const right = new Vector3().setFromMatrixColumn(this.camera.matrix, 0);
    const up = new Vector3().setFromMatrixColumn(this.camera.matrix, 1);
    this.target.addScaledVector(right, -dx * perPixel).addScaledVector(up, dy * perPixel);
    this.place();
  }

  #wheel = (e: WheelEvent) => {
    e.preventDefault();
    this.nearer(Math.exp(Math.sign(e.deltaY) * Math.min(Math.abs(e.deltaY), 120) * 0.001));
  };

  #key = (e: KeyboardEvent) => {
    if (e.ctrlKey || e.metaKey || e.altKey) return;
    switch (e.key) {
      case "ArrowLeft": this.turn(5, 0); break;
      case "ArrowRight": this.turn(-5, 0); break;
      case "ArrowUp": this.turn(0, 5); break;
      case "ArrowDown": this.turn(0, -5); break;
      case "+": case "=": this.nearer(0.85); break;
      case "-": this.nearer(1 / 0.85); break;
      default: return;
    }
    e.preventDefault();
  };
}
