import type { SetFormat } from './picture-set.ts';

/** How pixels become a file that is handed on. */
export interface FileEncoding {
  readonly format: SetFormat;
  /** 1–100, for JPEG and WebP; 90 when absent. */
  readonly quality?: number;
  /** WebP without loss, for pictures whose colour is a promise; `quality` counts for nothing then. */
  readonly lossless?: boolean;
  /** What stands behind that which is see-through, as sRGB hex; JPEG has white when absent, all else stays see-through. */
  readonly ground?: `#${string}`;
  /** Pixels to the inch the file says it is meant for; none when absent. */
  readonly ppi?: number;
  /** An XMP packet (ISO 16684-1), as text. */
  readonly xmp?: string;
}
