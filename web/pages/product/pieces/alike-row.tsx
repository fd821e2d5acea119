import { useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import type { Piece, Survey } from '../../../../server/core/product/survey.ts';
import { formatNumber, formatSize } from '../../../format.ts';
import { Chip } from '../../../parts/chip.tsx';
import { units } from '../../../units.ts';
import { formatArea } from '../contents/describe-material.ts';
import { type AlikePieces, nameMaterial } from './choose-pieces.ts';

interface AlikeRowProps {
  readonly group: AlikePieces;
  readonly survey: Survey;
  readonly ticked: ReadonlySet<string>;
  readonly disabled: boolean;
  readonly onTick: (pieces: readonly Piece[], on: boolean) => void;
}

/** Single pieces of a group that are shown when it is opened; a person does not tick more by hand. */
const SHOWN = 100;

/** Pieces that are alike, in a row; opened, each has a row of its own. */
export function AlikeRow({ group, survey, ticked, disabled, onTick }: AlikeRowProps) {
  const open = useSignal(false);
  const { pieces } = group;
  const first = pieces[0]!;
  const on = pieces.filter(({ piece }) => ticked.has(piece)).length;
  const name = group.nodes.join(', ') || 'without a name';
  return (
    <>
      <tr>
        <td>
          <PartTick
            label={`${name}, ${pieces.length} alike`}
            checked={on === pieces.length}
            partly={on > 0 && on < pieces.length}
            disabled={disabled || group.material === null}
            onTick={(value) => onTick(pieces, value)}
          />
        </td>
        <th scope="row">
          {name}
          {on > 0 && on < pieces.length && <small class="soft"> {on} ticked</small>}
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
              {formatNumber(pieces.length)} alike
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
                label={`${piece.nodes.join(', ') || 'piece'} ${piece.piece}`}
                checked={ticked.has(piece.piece)}
                disabled={disabled || piece.material === null}
                onTick={(value) => onTick([piece], value)}
              />
            </td>
            <th scope="row">{piece.nodes.join(', ') || 'without a name'}</th>
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

/** A tick that may be half on, which only the property can say. */
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

/** Where its middle is, so that one of four legs can be told from the others. */
function describePlace({ box: { min, max } }: Piece): string {
  const middle = (axis: number) => (min[axis]! + max[axis]!) / 2;
  const parts = [
    middle(0) < 0 ? 'left' : 'right',
    middle(2) < 0 ? 'back' : 'front',
    `${Math.round(middle(1) * 1000)} mm up`,
  ];
  return parts.join(', ');
}
