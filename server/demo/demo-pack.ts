import type { Article, Finish, RangeStatus } from '../core/finish/finish.ts';
import type { Options, Rule } from '../core/line/line.ts';
import type { Mount } from '../core/picture/picture.ts';

export interface DemoLine {
  readonly line: string;
  readonly name: string;
  readonly positions: { readonly position: string; readonly label: string; readonly options?: Options }[];
  readonly range: {
    readonly finish: string;
    readonly grade?: string;
    readonly status?: RangeStatus;
    readonly lastOrder?: string;
  }[];
  readonly rules: Rule[];
}

export interface DemoSlot {
  /** The material's name, lower-cased to `[a-z0-9-]`. */
  readonly slot: string;
  readonly label?: string;
  readonly position?: string;
  readonly options?: Options;
  readonly fixed?: boolean;
}

export interface DemoProduct {
  readonly code: string;
  readonly name: string;
  readonly class: string;
  readonly mount: Mount;
  readonly sheet: { readonly widthMm: number; readonly depthMm: number; readonly heightMm: number };
  /** GLB. */
  readonly model: Uint8Array;
  readonly slots: DemoSlot[];
  readonly schedule: {
    readonly default: string;
    readonly variants: { readonly code: string; readonly name: string; readonly choices: Record<string, string> }[];
  };
}

/** Everything an empty store is given: plain data, fit to be posted from a worker. */
export interface DemoPack {
  /** PNG maps of the finishes, by name. */
  readonly files: { readonly name: string; readonly bytes: Uint8Array }[];
  /** Maps name files of `files`; the code that stores them puts digests in their place. */
  readonly articles: Article[];
  readonly finishes: Finish[];
  readonly line: DemoLine;
  readonly products: DemoProduct[];
}
