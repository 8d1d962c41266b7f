/** A picture kept off the screen, with the corner at which it is laid, device pixels from its anchor. */
export interface Picture {
  readonly bitmap: ImageBitmap;
  readonly dx: number;
  readonly dy: number;
}

type Paint = (context: OffscreenCanvasRenderingContext2D) => void;

interface Kept {
  readonly picture: Picture;
  readonly still: readonly unknown[];
}

/** More are never needed at once; beyond, those made first go. */
const mostKept = 800;

/**
 * Small pictures of words and of lanes that only move when the strip pans. Shaping the same words in every frame was the
 * largest part of a frame's cost, and a day's heart rate is a box a column.
 */
export class Pictures {
  private readonly kept = new Map<string, Kept>();

  /** The picture under `key`, made by `make` unless one is kept that was made from the same `still` values. */
  of(key: string, still: readonly unknown[], make: () => Picture): Picture {
    const known = this.kept.get(key);
    if (known?.still.length === still.length && known.still.every((s, i) => s === still[i])) return known.picture;
    this.drop(key);
    const picture = make();
    this.kept.set(key, { picture, still });
    if (this.kept.size > mostKept) for (const old of [...this.kept.keys()].slice(0, mostKept / 2)) this.drop(old);
    return picture;
  }

  private drop(key: string): void {
    this.kept.get(key)?.picture.bitmap.close();
    this.kept.delete(key);
  }
}

/** A see-through picture of `width` x `height` device pixels. */
export function bitmapOf(width: number, height: number, paint: Paint): ImageBitmap {
  const canvas = new OffscreenCanvas(Math.max(1, Math.ceil(width)), Math.max(1, Math.ceil(height)));
  paint(canvas.getContext('2d')!);
  return canvas.transferToImageBitmap();
}
