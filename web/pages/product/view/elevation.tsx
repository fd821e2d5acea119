import { useSignal } from '@preact/signals';
import { formatLength } from '../../../format.ts';
import { Picture } from '../../../parts/picture.tsx';
import { viewTexts as texts } from '../../../texts/product-view.ts';
import { units } from '../../../units.ts';
import type { ProductModel } from '../product-model.ts';

/** Two dimensioned views, from pictures of the service, where there is no live view. */
export function Elevations({ model }: { readonly model: ProductModel }) {
  const { rows, defaultKey } = model.schedule.saved.value;
  const row = rows.find(({ key }) => key === defaultKey) ?? null;
  const size = model.survey.value?.size;
  if (!size || !model.schedule.loaded.value) return null;
  return (
    <div class="elevations">
      <Elevation
        address={model.getPictureAddress(row, 'front')}
        title={texts.front}
        version={model.version.value}
        across={texts.sides.width}
        acrossMm={size.widthMm}
        heightMm={size.heightMm}
      />
      <Elevation
        address={model.getPictureAddress(row, 'side')}
        title={texts.side}
        version={model.version.value}
        across={texts.sides.depth}
        acrossMm={size.depthMm}
        heightMm={null}
      />
    </div>
  );
}

interface ElevationProps {
  readonly address: string;
  readonly title: string;
  readonly version: number;
  /** The horizontal dimension of this view, mm, and its name. */
  readonly acrossMm: number;
  readonly across: string;
  /** The height, mm, or null where it is not drawn. */
  readonly heightMm: number | null;
}

/** The picture is 300 units wide; dimensions stand below it and to its left. */
const SIDE = 300;
const TICK = 5;
const OFFSET = 16;

/** A view of the product as a dimensioned drawing: lines with ticks and their lengths. */
function Elevation({ address, title, version, acrossMm, across, heightMm }: ElevationProps) {
  const extent = useSignal<Extent | null>(null);
  const found = extent.value;
  return (
    <figure class="elevation">
      <div class="drawing">
        <Picture
          address={address}
          alt={title}
          version={version}
          onArrive={(image) => {
            extent.value = measureImage(image);
          }}
        />
        {found && (
          <svg
            viewBox={`-40 0 ${SIDE + 40} ${SIDE + 40}`}
            role="img"
            aria-label={describeDimensions(across, acrossMm, heightMm)}
          >
            <Across from={found.left * SIDE} to={found.right * SIDE} foot={found.bottom * SIDE} mm={acrossMm} />
            {heightMm !== null && (
              <Upright from={found.top * SIDE} to={found.bottom * SIDE} side={found.left * SIDE} mm={heightMm} />
            )}
          </svg>
        )}
      </div>
      <figcaption>{title}</figcaption>
    </figure>
  );
}

function describeDimensions(across: string, acrossMm: number, heightMm: number | null): string {
  const height = heightMm === null ? null : formatLength(heightMm, units.value);
  return texts.elevation(across, formatLength(acrossMm, units.value), height, units.value);
}

interface LineProps {
  readonly from: number;
  readonly to: number;
  readonly mm: number;
}

function Across({ from, to, foot, mm }: LineProps & { readonly foot: number }) {
  const y = Math.min(foot + OFFSET, SIDE + 14);
  return (
    <g>
      <path class="thin" d={`M${from} ${foot + 3}V${y + TICK}M${to} ${foot + 3}V${y + TICK}`} />
      <path d={`M${from} ${y}H${to}${tick(from, y)}${tick(to, y)}`} />
      <text x={(from + to) / 2} y={y + 17} text-anchor="middle">
        {formatLength(mm, units.value)}
      </text>
    </g>
  );
}

function Upright({ from, to, side, mm }: LineProps & { readonly side: number }) {
  const x = side - OFFSET;
  const middle = (from + to) / 2;
  return (
    <g>
      <path class="thin" d={`M${side - 3} ${from}H${x - TICK}M${side - 3} ${to}H${x - TICK}`} />
      <path d={`M${x} ${from}V${to}${tick(x, from)}${tick(x, to)}`} />
      <text x={x - 6} y={middle} text-anchor="middle" transform={`rotate(-90 ${x - 6} ${middle})`}>
        {formatLength(mm, units.value)}
      </text>
    </g>
  );
}

/** The slanted tick of architectural drawings. */
function tick(x: number, y: number): string {
  return `M${x - TICK} ${y + TICK}L${x + TICK} ${y - TICK}`;
}

/** Where a product is in its picture, as shares of the picture's sides, 0–1 from the left and from the top. */
export interface Extent {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

/** A pixel belongs to the product from this alpha on: contact shadows stay below it. Glass does too, and is missed. */
const SOLID = 235;

/** Rows and columns with fewer solid pixels are noise. */
const FEWEST = 2;

/** Finds a product in straight RGBA; null without solid pixels. */
export function findExtent(rgba: Uint8ClampedArray, width: number, height: number): Extent | null {
  const columns = new Uint32Array(width);
  const rows = new Uint32Array(height);
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      if (rgba[(y * width + x) * 4 + 3]! < SOLID) continue;
      columns[x]!++;
      rows[y]!++;
    }
  }
  const isSolid = (n: number) => n >= FEWEST;
  const left = columns.findIndex(isSolid);
  const top = rows.findIndex(isSolid);
  if (left < 0 || top < 0) return null;
  return {
    left: left / width,
    right: (columns.findLastIndex(isSolid) + 1) / width,
    top: top / height,
    bottom: (rows.findLastIndex(isSolid) + 1) / height,
  };
}

/** Finds the product in a loaded image. */
export function measureImage(image: HTMLImageElement): Extent | null {
  const { naturalWidth: width, naturalHeight: height } = image;
  const canvas = new OffscreenCanvas(width, height);
  const context = canvas.getContext('2d', { willReadFrequently: true });
  if (!context || width === 0) return null;
  context.drawImage(image, 0, 0);
  return findExtent(context.getImageData(0, 0, width, height).data, width, height);
}
