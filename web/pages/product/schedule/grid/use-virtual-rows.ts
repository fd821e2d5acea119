import { useSignal } from '@preact/signals';
import {
  defaultRangeExtractor,
  elementScroll,
  observeElementOffset,
  observeElementRect,
  Virtualizer,
} from '@tanstack/virtual-core';
import { useLayoutEffect, useState } from 'preact/hooks';

interface VirtualRows {
  readonly count: number;
  /** Height of a row, in CSS px. */
  readonly heightPx: number;
  /** Height of what stays above the rows, in CSS px. */
  readonly headPx: number;
  /** A row that exists whether it is in sight or not, since it has the focus. */
  readonly always: number;
}

/** Rows before and after those in sight. */
const OVERSCAN = 6;

/** The rows of a long list that are in sight of an element that scrolls. */
export function useVirtualRows(
  scroller: { readonly current: HTMLElement | null },
  { count, heightPx, headPx, always }: VirtualRows,
) {
  const version = useSignal(0);
  const options = {
    count,
    getScrollElement: () => scroller.current,
    estimateSize: () => heightPx,
    observeElementRect,
    observeElementOffset,
    scrollToFn: elementScroll,
    scrollPaddingStart: headPx,
    overscan: OVERSCAN,
    rangeExtractor: (range: Parameters<typeof defaultRangeExtractor>[0]) => {
      const rows = defaultRangeExtractor(range);
      if (always >= 0 && always < count && !rows.includes(always)) rows.push(always);
      return rows;
    },
    onChange: () => {
      version.value++;
    },
  };
  const [virtualizer] = useState(() => new Virtualizer<HTMLElement, HTMLElement>(options));
  virtualizer.setOptions(options);
  useLayoutEffect(() => virtualizer._didMount(), [virtualizer]);
  useLayoutEffect(() => virtualizer._willUpdate());
  // reading it makes the caller follow the scrolling
  void version.value;
  return virtualizer;
}
