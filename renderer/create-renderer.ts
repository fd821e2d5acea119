import { PICTURE_SIZE_PX, type Quality } from '../server/core/picture/picture.ts';
import {
  type LayersShot,
  PICTURE_REFUSALS,
  type ProductShot,
  type RawLayer,
  type RawPicture,
  type Renderer,
  type RendererFacts,
  type SwatchShot,
  type Turn,
} from '../server/core/ports/renderer.ts';
import { Problem } from '../server/core/problems.ts';
import { PICTURE_PROBLEMS } from '../server/core/texts/problems/picture.ts';
import { type HoldLock, sweepProfiles } from './browser-profiles.ts';
import { getSheetTimeoutMs, getShotTimeoutMs, Overdue, withDeadline } from './deadline.ts';
import { needsNoSandbox, readSandboxSigns } from './launch-browser.ts';
import type { ShotAnswer } from './page/main.ts';
import type { Delivery, PageServer, Split } from './page-server.ts';
import { createLayerPieces, createPicturePieces, LAYER_HEADER_BYTES, splitLayers } from './pieces.ts';
import { createClosedProblem, createShotQueue, type Effort } from './queues.ts';
import { describe, openSession, type StudioSession } from './studio-session.ts';
import { listTiles, type Tile } from './tiles.ts';
import { Frozen } from './watch-browser.ts';

/**
 * Larger pictures are drawn in tiles, each in a call of its own, so that others can go between. Targets of this size take fifty
 * megabytes, and sixteen more per layer of a shot.
 */
const TILE_PX = 1024;

export interface RendererOptions {
  /** A Chromium-family browser. */
  readonly browserPath: string;
  /** Folder of the built studio page. */
  readonly studioFolder: string;
  /** `true` starts the browser without its sandbox, `false` with it; absent: without it as root in a container only. */
  readonly noSandbox?: boolean;
  /** Shots that may wait; default 64, which a small machine draws in a minute. */
  readonly queueLimit?: number;
  /**
   * A shot that takes longer is stopped, its browser is ended, and the shot is tried once more. Default 60 s, for
   * pictures of up to 2048 × 2048 px without a GPU. Larger pictures get more time by their pixels, sheets by their
   * pictures.
   */
  readonly shotTimeoutMs?: number;
  /** Side of a tile; default 1024 px. */
  readonly tilePx?: number;
  /** Default 30 s: a cold start of a slow machine. */
  readonly launchTimeoutMs?: number;
  /** Shots after which the page is reloaded; default 500. Reloading keeps small leaks of GL drivers from adding up. */
  readonly shotsPerPage?: number;
  /** Marks profiles of browsers as in use, and lets the renderer delete those that a killed process left behind. */
  readonly holdLock?: HoldLock;
  readonly log?: (message: string, details?: Readonly<Record<string, unknown>>) => void;
}

/** The {@link Renderer} in a browser of its own, which starts with the first shot. */
export function createRenderer(options: RendererOptions): Renderer {
  const { tilePx = TILE_PX } = options;
  const { queueLimit = 64, shotTimeoutMs = 60_000, launchTimeoutMs = 30_000, shotsPerPage = 500 } = options;
  const log = options.log ?? (() => undefined);
  const queue = createShotQueue(queueLimit);
  let session: StudioSession | undefined;
  let known: RendererFacts | undefined;
  let shots = 0;
  let closing = false;
  if (options.holdLock) void sweepProfiles(options.holdLock);

  async function getSession(): Promise<StudioSession> {
    if (session && !session.isGone()) {
      if (shots < shotsPerPage) return session;
      shots = 0;
      try {
        await session.reload();
        return session;
      } catch (error) {
        log('the studio page could not be reloaded', { cause: describe(error) });
      }
    }
    await dropSession();
    const started = Date.now();
    session = await openSession({
      ...options,
      launchTimeoutMs,
      noSandbox: needsNoSandbox(readSandboxSigns(options.noSandbox)),
    });
    shots = 0;
    known = session.facts;
    log('the studio is open', { ...session.facts, pid: session.pid, ms: Date.now() - started });
    return session;
  }

  async function dropSession(hung = false): Promise<void> {
    const old = session;
    session = undefined;
    await old?.end(hung);
  }

  interface Size {
    readonly widthPx: number;
    readonly heightPx: number;
    /** Work, in stills of sixteen subsamples; default 1. */
    readonly stills?: number;
  }
  interface Bytes {
    readonly count: number;
    readonly split?: Split;
  }
  type Take = (session: StudioSession, pixelsUrl: string) => Promise<ShotAnswer>;

  interface Task<Result> {
    readonly timeoutMs: number;
    run(session: StudioSession): Promise<Result>;
    /** The reasons for a refusal after the second attempt. */
    readonly overdue: string;
    readonly ended: string;
  }

  /** Does work in the browser. When the browser crashes, freezes or does not answer in time, it tries once more in a new one. */
  async function runWithRetry<Result>({ timeoutMs, run, overdue, ended }: Task<Result>): Promise<Result> {
    for (let attempt = 1; ; attempt++) {
      const open = await getSessionOrProblem();
      try {
        return await withDeadline(open.watch(run(open)), timeoutMs);
      } catch (error) {
        if (error instanceof Problem || error instanceof Indivisible) throw error;
        const frozen = error instanceof Frozen;
        const hung = frozen || error instanceof Overdue;
        await dropSession(hung);
        if (closing) throw createClosedProblem();
        log(hung ? 'the browser hung and was ended' : 'the browser was lost', { attempt, cause: describe(error) });
        if (attempt < 2) continue;
        if (frozen) throw new Problem('renderer-frozen', { detail: PICTURE_PROBLEMS['renderer-frozen'], cause: error });
        throw new Problem('renderer-failed', { detail: hung ? overdue : ended, cause: error });
      }
    }
  }

  /** Takes a shot of this many bytes, or one that is split into pieces of at most this many. */
  async function shoot({ widthPx, heightPx, stills }: Size, bytes: Bytes, take: Take): Promise<readonly Uint8Array[]> {
    for (const size of [widthPx, heightPx]) {
      if (!Number.isInteger(size) || size < 1 || size > PICTURE_SIZE_PX.printMax) {
        throw new Problem('renderer-failed', { detail: PICTURE_PROBLEMS['renderer-failed'].size(widthPx, heightPx) });
      }
    }
    const timeoutMs = getShotTimeoutMs(widthPx, heightPx, shotTimeoutMs, stills);
    return runWithRetry({
      timeoutMs,
      async run(open) {
        const delivery = open.server.expect(bytes.count, bytes.split);
        shots++;
        try {
          return await receive(open, delivery, take);
        } finally {
          delivery.cancel();
        }
      },
      overdue: PICTURE_PROBLEMS['renderer-failed'].pictureTimeout(timeoutMs / 1000),
      ended: PICTURE_PROBLEMS['renderer-failed'].pictureCrash,
    });
  }

  /**
   * The pixels, or the page's reason for refusing. It does not wait for the page's answer once the pixels have arrived,
   * because the browser ends its side of a large POST some twenty milliseconds late.
   */
  async function receive(open: StudioSession, delivery: Delivery, take: Take): Promise<readonly Uint8Array[]> {
    const refused = take(open, delivery.url).then((answer) => {
      if (answer.ok) return delivery.pixels;
      if (answer.code === 'context-lost') throw new Error(answer.message);
      if (answer.code === 'indivisible') throw new Indivisible();
      // A failed program stays in the page.
      if (answer.code === 'shader-failed' || answer.code === 'picture-too-many-maps') shots = shotsPerPage;
      const remarks = open.takeRemarks().join('\n');
      const code = PICTURE_REFUSALS.find((known) => known === answer.code) ?? 'renderer-failed';
      throw new Problem(code, { detail: answer.message, cause: remarks || undefined });
    });
    const pixels = await Promise.race([delivery.pixels, refused]);
    // what the page remarks comes the same way as its answer and before it, and may come after the pixels
    const report = () => {
      const remarks = open.takeRemarks();
      if (remarks.length > 0) log('the studio page remarked', { remarks });
    };
    refused.then(report, report);
    return pixels;
  }

  async function getSessionOrProblem(): Promise<StudioSession> {
    try {
      const opened = await getSession();
      // A browser takes seconds to start, so the service may have begun to close meanwhile.
      if (closing) throw createClosedProblem();
      return opened;
    } catch (error) {
      if (closing) throw createClosedProblem();
      throw new Problem('renderer-failed', {
        detail: PICTURE_PROBLEMS['renderer-failed'].noStart(options.browserPath),
        cause: error,
      });
    }
  }

  /** Makes a product's file, or a finish's bytes, available to the page during a call. */
  async function withOffer(
    { server }: StudioSession,
    content: Parameters<PageServer['offer']>[0],
    call: (url: string) => Promise<ShotAnswer>,
  ): Promise<ShotAnswer> {
    const offer = server.offer(content);
    try {
      return await call(offer.url);
    } finally {
      offer.withdraw();
    }
  }

  /**
   * Takes a picture tile by tile. If the browser is replaced by one that draws otherwise, it begins again: its tiles would not
   * fit together.
   */
  async function takeTiles(
    { widthPx, heightPx }: Size,
    pause: () => Promise<void>,
    takeTile: (tile: Tile) => Promise<'more' | 'complete'>,
  ): Promise<void> {
    const tiles = listTiles(widthPx, heightPx, tilePx);
    for (let attempt = 1; attempt <= 2; attempt++) {
      let maker: string | undefined;
      for (const [index, tile] of tiles.entries()) {
        if (index > 0) await pause();
        if ((await takeTile(tile)) === 'complete') return;
        const now = JSON.stringify(known);
        maker ??= now;
        if (maker !== now) break;
        if (index === tiles.length - 1) return;
      }
    }
    throw new Problem('renderer-failed', { detail: PICTURE_PROBLEMS['renderer-failed'].driverChanged });
  }

  /** A large shot lets others go before it, and between its tiles. */
  const getEffort = ({ widthPx, heightPx }: Size): Effort => (Math.max(widthPx, heightPx) > tilePx ? 2 : 1);

  function takeSwatch({ key: _, kit, ...shot }: SwatchShot, turn?: Turn): Promise<RawPicture> {
    const size = { widthPx: shot.sizePx, heightPx: shot.sizePx };
    return queue.run(
      async () => {
        const [rgba] = await shoot(size, toBytes(size), (open, pixelsUrl) => {
          const call = (url: string) => open.call('takeSwatch', { ...shot, url }, pixelsUrl);
          return kit.length > INLINE_BYTES ? withOffer(open, { bytes: kit }, call) : call(toDataUrl(kit));
        });
        return { ...size, rgba: rgba! };
      },
      // A swatch takes a twentieth of the time of a product.
      { turn, effort: 0 },
    );
  }

  function takeProduct({ file, ...shot }: ProductShot, turn?: Turn): Promise<RawPicture> {
    const { widthPx, heightPx } = shot;
    const stills = countStills(shot.quality);
    const take = async (size: Size, tile?: Tile) => {
      const [rgba] = await shoot({ ...size, stills }, toBytes(size), (open, pixelsUrl) =>
        withOffer(open, { path: file.path }, (url) =>
          open.call('takeProduct', { ...shot, key: file.key, url, ...(tile && { tile }) }, pixelsUrl),
        ),
      );
      return rgba!;
    };
    return queue.run(
      async (pause) => {
        const picture = createPicturePieces(shot);
        await takeTiles(shot, pause, async (tile) => {
          try {
            picture.add(tile, await take(tile, tile));
            return 'more';
          } catch (error) {
            if (!(error instanceof Indivisible)) throw error;
            picture.add({ left: 0, top: 0, widthPx, heightPx }, await take(shot));
            return 'complete';
          }
        });
        return { widthPx, heightPx, rgba: picture.get() };
      },
      { turn, effort: getEffort(shot) },
    );
  }

  function takeLayers({ file, ...shot }: LayersShot, turn?: Turn): Promise<readonly RawLayer[]> {
    const { widthPx, heightPx, layers } = shot;
    // One drawing gives all solid layers. Each blended one takes about half a drawing more.
    const stills = countStills(shot.quality) * (1 + 0.5 * (layers.length - 1));
    return queue.run(
      async (pause) => {
        const taken = createLayerPieces();
        await takeTiles(shot, pause, async (tile) => {
          const count = layers.length * (LAYER_HEADER_BYTES + tile.widthPx * tile.heightPx * 8);
          const pieces = await shoot({ ...tile, stills }, { count, split: splitLayers }, (open, pixelsUrl) =>
            withOffer(open, { path: file.path }, (url) =>
              open.call('takeLayers', { ...shot, key: file.key, url, tile }, pixelsUrl),
            ),
          );
          taken.add(pieces);
          return 'more';
        });
        const { browser, gl, studio } = known!;
        return taken.get().map((layer) => ({ widthPx, heightPx, ...layer, maker: { browser, gl, studio } }));
      },
      { turn, effort: getEffort(shot) },
    );
  }

  return {
    takeProduct,
    takeLayers,
    takeSwatch,
    takeSphere: (shot, turn) => takeSwatch({ ...shot, kind: 'sphere', light: 'studio' }, turn),
    printSheet: (sheet, pictures, turn) =>
      queue.run(
        () => {
          const timeoutMs = getSheetTimeoutMs(Object.keys(pictures).length, shotTimeoutMs);
          return runWithRetry({
            timeoutMs,
            // Late, since the PDF library takes a third of a second to load.
            run: async ({ browser }) => (await import('./sheet/print-sheet.ts')).printSheet(browser, sheet, pictures),
            overdue: PICTURE_PROBLEMS['renderer-failed'].sheetTimeout(timeoutMs / 1000),
            ended: PICTURE_PROBLEMS['renderer-failed'].sheetCrash,
          });
        },
        { turn },
      ),
    // Known facts need no queue, because a look-up must not wait behind shots.
    getFacts: async (turn) => known ?? queue.run(async () => (await getSessionOrProblem()).facts, { turn, effort: 0 }),
    async close() {
      closing = true;
      const closed = queue.close();
      // This ends the current shot.
      await dropSession();
      await closed;
      await dropSession();
    },
  };
}

/** The page must draw the picture at once: behind a transmissive part, a viewer would see only the current tile. */
class Indivisible extends Error {
  override readonly name = 'Indivisible';
}

/** The work of a picture, in stills of sixteen subsamples. */
function countStills(quality: Quality): number {
  return quality === 'fine' ? 4 : 1;
}

/** Bytes of a picture's pixels. */
function toBytes({ widthPx, heightPx }: { readonly widthPx: number; readonly heightPx: number }) {
  return { count: widthPx * heightPx * 4 };
}

/**
 * Larger files get a request of their own; smaller ones go with the call. A finish without maps has some two thousand
 * bytes.
 */
const INLINE_BYTES = 64 * 1024;

function toDataUrl(bytes: Uint8Array): string {
  return `data:model/gltf-binary;base64,${Buffer.from(bytes).toString('base64')}`;
}
