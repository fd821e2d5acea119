import { useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import type { Piece, Survey } from '../../../../server/core/product/survey.ts';
import { formatNumber } from '../../../../server/core/texts/format-text.ts';
import { formatSize, listNames } from '../../../format.ts';
import { Chip } from '../../../parts/picture.tsx';
import { piecesTexts as texts } from '../../../texts/product-contents.ts';
import { units } from '../../../units.ts';
import { formatArea } from '../contents/describe-contents.ts';
import { type IdenticalPieces, nameMaterial } from './pieces-model.ts';

interface IdenticalPiecesRowProps {
  readonly group: IdenticalPieces;
  readonly survey: Survey;
  readonly ticked: ReadonlySet<string>;
  readonly disabled: boolean;
  readonly onTick: (pieces: readonly Piece[], on: boolean) => void;
}

/** Single pieces shown in an open group: more would be too many to tick by hand. */
const SHOWN = 100;

/** One row for identical pieces. It opens into one row for each piece. */
export function IdenticalPiecesRow({ group, survey, ticked, disabled, onTick }: IdenticalPiecesRowProps) {
  const open = useSignal(false);
  const { pieces } = group;
  const first = pieces[0]!;
  const on = pieces.filter(({ piece }) => ticked.has(piece)).length;
  const name = listNames(group.nodes) || texts.unnamed;
  return (
    <>
      <tr>
        <td>
          <PartTick
            label={texts.tickIdentical(name, pieces.length)}
            checked={on === pieces.length}
            partly={on > 0 && on < pieces.length}
            disabled={disabled || group.material === null}
            onTick={(value) => onTick(pieces, value)}
          />
        </td>
        <th scope="row">
          {name}
          {on > 0 && on < pieces.length && <small class="soft">{texts.ticked(on)}</small>}
        </th>
        <td class="figure">
          {pieces.length > 1 ? (
            <button
              type="button"
              aria-expanded={open.value}
              onClick={() => {
                open.value = !open.value;
              }}
            >
              {texts.identical(pieces.length)}
            </button>
          ) : (
            '1'
          )}
        </td>
        <td class="colours">
          {group.colours.map((hex) => (
            <Chip key={hex} hex={hex} />
          ))}
          {group.colours.length === 1 && <small class="code soft"> {group.colours[0]}</small>}
        </td>
        <td>{nameMaterial(group.material, survey)}</td>
        <td class="figure">{formatSize(sizeOf(first), units.value)}</td>
        <td class="figure">{formatArea(group.areaM2)}</td>
        <td class="figure">{formatNumber(group.triangles)}</td>
      </tr>
      {open.value &&
        pieces.slice(0, SHOWN).map((piece) => (
          <tr key={piece.piece} class="single small">
            <td>
              <PartTick
                label={texts.tickOne(listNames(piece.nodes) || texts.unnamed, piece.piece)}
                checked={ticked.has(piece.piece)}
                disabled={disabled || piece.material === null}
                onTick={(value) => onTick([piece], value)}
              />
            </td>
            <th scope="row">{listNames(piece.nodes) || texts.unnamed}</th>
            <td class="code soft">{piece.piece}</td>
            <td>{piece.hex && <Chip hex={piece.hex} />}</td>
            <td />
            <td class="figure soft">{describePlace(piece)}</td>
            <td class="figure">{formatArea(piece.areaM2)}</td>
            <td class="figure">{formatNumber(piece.triangles)}</td>
          </tr>
        ))}
    </>
  );
}

interface PartTickProps {
  readonly label: string;
  readonly checked: boolean;
  readonly partly?: boolean;
  readonly disabled: boolean;
  readonly onTick: (on: boolean) => void;
}

/** A checkbox that may be partly on, a state that only the DOM property can set. */
function PartTick({ label, checked, partly = false, disabled, onTick }: PartTickProps) {
  const place = useRef<HTMLInputElement>(null);
  useEffect(() => {
    place.current!.indeterminate = partly;
  }, [partly]);
  return (
    <label class="tick">
      <input
        ref={place}
        type="checkbox"
        aria-label={label}
        checked={checked}
        disabled={disabled}
        onChange={(event) => onTick(event.currentTarget.checked)}
      />
    </label>
  );
}

function sizeOf({ box: { min, max } }: Piece) {
  const side = (axis: number) => (max[axis]! - min[axis]!) * 1000;
  return { widthMm: side(0), depthMm: side(2), heightMm: side(1) };
}

/** Where the centre of a piece is, to tell one of four legs from the others. */
function describePlace({ box: { min, max } }: Piece): string {
  const centre = (axis: number) => (min[axis]! + max[axis]!) / 2;
  return texts.place(centre(0) < 0, centre(2) < 0, Math.round(centre(1) * 1000));
}
