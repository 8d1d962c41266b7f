import { scrollTo, zoom } from '../../commands/display';
import type { App } from '../../state/app';
import type { ReviewWorkspace } from '../../state/review/workspace';
import { rowSeconds } from '../../state/stores/view-store';

/** The paper speeds are steps: fingers apart by this much go one step on. */
const stepRatio = 1.5;

/** Two fingers on the paper: together they push it, apart or towards each other they change its speed. */
export class Pinch {
  private readonly fingers = new Map<number, { x: number; y: number }>();
  private apart = 0;
  private middle = 0;

  constructor(
    private readonly workspace: ReviewWorkspace,
    private readonly app: App,
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
    const finger = this.fingers.get(event.pointerId);
    if (!finger) return;
    finger.x = event.clientX;
    finger.y = event.clientY;
    if (!this.active) return;
    const { apart, middle } = this.now();
    const view = this.workspace.view.getState();
    scrollTo(
      this.workspace,
      view.startSec - ((middle - this.middle) / view.geometry.widthPx) * rowSeconds(view, view.geometry),
    );
    this.middle = middle;
    const ratio = apart / this.apart;
    if (ratio < stepRatio && ratio > 1 / stepRatio) return;
    zoom(this.workspace, this.app, ratio > 1 ? 1 : -1);
    this.apart = apart;
  }

  /** A finger is gone, lifted or taken by the system. */
  up(event: PointerEvent): void {
    this.fingers.delete(event.pointerId);
    this.begin();
  }

  private begin(): void {
    if (this.active) ({ apart: this.apart, middle: this.middle } = this.now());
  }

  private now(): { apart: number; middle: number } {
    const [a, b] = [...this.fingers.values()] as [{ x: number; y: number }, { x: number; y: number }];
    return { apart: Math.max(1, Math.hypot(a.x - b.x, a.y - b.y)), middle: (a.x + b.x) / 2 };
  }
}
