import { saySpeed, secondsAt, usualSpeed, zoomTo } from '../../commands/display';
import type { App } from '../../state/app';
import type { ReviewWorkspace } from '../../state/review/workspace';

interface Point {
  readonly x: number;
  readonly y: number;
}

/** Where two fingers took hold of the paper. */
interface Hold {
  readonly apart: number;
  readonly mmPerSecond: number;
  /** What lies between the fingers, seconds, and the row it is in. */
  readonly seconds: number;
  readonly row: number;
}

/** Two fingers on the paper: what lay between them stays between them, and the paper speed follows their distance. */
export class Pinch {
  private readonly fingers = new Map<number, Point>();
  private hold: Hold | null = null;

  /** @param placeAt a point of the screen in rows from the left edge of the first one */
  constructor(
    private readonly workspace: ReviewWorkspace,
    private readonly app: App,
    private readonly placeAt: (x: number, y: number) => number,
  ) {}

  /** True while two fingers or more are down. */
  get active(): boolean {
    return this.fingers.size > 1;
  }

  /** Takes note of a finger; true when it is the one that makes it two. */
  down(event: PointerEvent): boolean {
    if (event.pointerType !== 'touch') return false;
    this.fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
    this.begin();
    return this.fingers.size === 2;
  }

  move(event: PointerEvent): void {
    if (!this.fingers.has(event.pointerId)) return;
    this.fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
    if (!this.hold) return;
    this.show(this.hold, (this.hold.mmPerSecond * this.apart()) / this.hold.apart);
    saySpeed(this.workspace, this.app);
  }

  /** A finger is gone, lifted or taken by the system. */
  up(event: PointerEvent): void {
    const { hold } = this;
    if (hold && this.fingers.has(event.pointerId)) {
      const { mmPerSecond } = this.workspace.view.getState();
      const usual = usualSpeed(mmPerSecond);
      if (usual !== mmPerSecond) {
        this.show(hold, usual);
        saySpeed(this.workspace, this.app);
      }
    }
    this.fingers.delete(event.pointerId);
    this.begin();
  }

  private begin(): void {
    this.hold = null;
    if (!this.active) return;
    const place = this.place();
    const { mmPerSecond } = this.workspace.view.getState();
    const seconds = secondsAt(this.workspace, place);
    this.hold = { apart: this.apart(), mmPerSecond, seconds, row: Math.floor(place) };
  }

  /** The row stays the one in which the fingers began, however they wander. */
  private show({ seconds, row }: Hold, mmPerSecond: number): void {
    const place = this.place();
    zoomTo(this.workspace, mmPerSecond, seconds, row + place - Math.floor(place));
  }

  private place(): number {
    const [a, b] = this.pair();
    return this.placeAt((a.x + b.x) / 2, (a.y + b.y) / 2);
  }

  private apart(): number {
    const [a, b] = this.pair();
    return Math.max(1, Math.hypot(a.x - b.x, a.y - b.y));
  }

  private pair(): [Point, Point] {
    return [...this.fingers.values()].slice(0, 2) as [Point, Point];
  }
}
