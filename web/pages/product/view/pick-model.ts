import { computed, type ReadonlySignal, signal } from '@preact/signals';
import type { Hit } from '../../../../renderer/page/live-view.ts';
import type { Piece } from '../../../../server/core/product/survey.ts';
import type { SlotAnswer } from '../../../../server/http/contracts/product.ts';
import type { SurveyAnswer } from '../../../../server/http/contracts/survey.ts';
import { get, seg } from '../../../api.ts';
import { viewTexts as texts } from '../../../texts/product-view.ts';

/** A part under the pointer. */
export interface Pointed {
  readonly hit: Hit;
  readonly slot: string | null;
  /** Its name and its slot. */
  readonly text: string;
  /** CSS px from the corner of the view. */
  readonly x: number;
  readonly y: number;
}

/** What a sheet outlines in the view. */
export type Lit = { readonly slot: string } | { readonly pieces: readonly string[] };

interface Given {
  readonly product: string;
  readonly slots: ReadonlySignal<readonly SlotAnswer[]>;
  slotOf(hit: Hit): string | null;
}

/** What a person points at and picks in a view, and what a sheet lights up there. */
export function createPickModel({ product, slots, slotOf }: Given) {
  const pointed = signal<Pointed | null>(null);
  const lit = signal<Lit | null>(null);
  /** Ids of pieces. */
  const picked = signal<ReadonlySet<string>>(new Set());
  /** Whether a pick adds to what is picked, as it does with Shift: a finger has no Shift. */
  const adding = signal(false);
  const lassoing = signal(false);
  const lassoLine = signal<readonly { readonly x: number; readonly y: number }[]>([]);
  /** `parts`: slots can be pointed at; `pieces`: single pieces too. */
  const pickable = signal<'no' | 'parts' | 'pieces'>('no');
  const pieces = signal<ReadonlyMap<string, Piece>>(new Map());
  let loading: Promise<void> | null = null;
  let closed = false;

  const labelOf = (slot: string | null) => slots.value.find((one) => one.slot === slot)?.label ?? slot;

  /** For people who do not see the outlines. */
  const announcement = computed(() => {
    const now = lit.value;
    if (now && 'slot' in now) return texts.lit(labelOf(now.slot) ?? '');
    return picked.value.size > 0 ? texts.pickedPieces(picked.value.size) : '';
  });

  /** Loads names and shapes of pieces, once. */
  function loadPieces(): Promise<void> {
    loading ??= get<SurveyAnswer>(`/api/products/${seg(product)}/survey?pieces=1`).then(
      (answer) => {
        if (!closed) pieces.value = new Map((answer.pieces ?? []).map((piece) => [piece.piece, piece]));
      },
      () => {
        // the next call tries again
        loading = null;
      },
    );
    return loading;
  }

  function point(hit: Hit | null, at: { readonly x: number; readonly y: number }): void {
    if (!hit) {
      pointed.value = null;
      return;
    }
    if (hit.piece !== null) void loadPieces();
    const slot = slotOf(hit);
    const part = hit.piece === null ? null : (pieces.value.get(hit.piece)?.part ?? null);
    const label = labelOf(slot) ?? texts.noSlot;
    const text = part === null || part === label ? label : texts.part(part, label);
    pointed.value = { hit, slot, text, x: at.x, y: at.y };
  }

  /** Picks a piece alone, or adds it to what is picked; a picked one is taken away again. */
  function pick(piece: string, adds: boolean): void {
    if (!adds) {
      picked.value = new Set([piece]);
      return;
    }
    const next = new Set(picked.value);
    if (!next.delete(piece)) next.add(piece);
    picked.value = next;
  }

  function pickHit(hit: Hit | null, shift: boolean): void {
    const adds = shift || adding.value;
    if (hit?.piece) pick(hit.piece, adds);
    else if (!hit && !adds) clear();
  }

  function pickInside(found: readonly string[], shift: boolean): void {
    picked.value = new Set([...(shift || adding.value ? picked.value : []), ...found]);
    lassoing.value = false;
  }

  function clear(): void {
    adding.value = false;
    picked.value = new Set();
  }

  function leave(): void {
    if (lassoing.value) lassoing.value = false;
    else clear();
  }

  /** Adds every piece that is like a picked one in what `nameOf` names. */
  async function extend(nameOf: (piece: Piece) => string | null): Promise<void> {
    await loadPieces();
    const names = new Set(
      [...picked.value].flatMap((id) => {
        const piece = pieces.value.get(id);
        return (piece && nameOf(piece)) ?? [];
      }),
    );
    const like = [...pieces.value.values()].filter((piece) => {
      const name = nameOf(piece);
      return name !== null && names.has(name);
    });
    picked.value = new Set([...picked.value, ...like.map(({ piece }) => piece)]);
  }

  return {
    pointed,
    lit,
    picked,
    adding,
    lassoing,
    lassoLine,
    pickable,
    /** By id; empty until `loadPieces` or the first piece that is pointed at. */
    pieces,
    announcement,
    loadPieces,
    point,
    pick,
    pickHit,
    pickInside,
    clearPicked: clear,
    leave,
    /** Adds all pieces of the shape and material of the picked ones. */
    pickAllAlike: () => extend(({ material, shape }) => `${material} ${shape}`),
    /** Adds all pieces of the parts, as the file names them, that the picked ones belong to. */
    pickPart: () => extend(({ material, part }) => (part === null ? null : `${material} ${part}`)),
    /** Starts or ends drawing a line around pieces. */
    setLasso: (on: boolean) => {
      lassoing.value = on;
    },
    setPickable: (known: boolean) => {
      pickable.value = known ? 'pieces' : 'parts';
    },
    /** Forgets all, for another model. */
    reset(): void {
      loading = null;
      pieces.value = new Map();
      pointed.value = null;
      lit.value = null;
      pickable.value = 'no';
      clear();
    },
    close(): void {
      closed = true;
    },
  };
}
