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
  /** By what all words of a style have in common, then by the words. */
  private readonly words = new Map<string, Map<string, Picture>>();
  private wordsKept = 0;

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

  /** Pictures of words in one style; hold it no longer than a frame. */
  ofStyle(style: string): Map<string, Picture> {
    const known = this.words.get(style);
    if (known) return known;
    const made = new Map<string, Picture>();
    this.words.set(style, made);
    return made;
  }

  /** Keeps a picture of words among those of its style. */
  addWords(ofStyle: Map<string, Picture>, words: string, picture: Picture): void {
    ofStyle.set(words, picture);
    if (++this.wordsKept <= mostKept) return;
    for (const some of this.words.values())
      for (const old of [...some.keys()].slice(0, some.size >> 1)) {
        some.get(old)!.bitmap.close();
        some.delete(old);
        this.wordsKept--;
      }
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
