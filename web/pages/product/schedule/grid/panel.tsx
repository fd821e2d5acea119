import type { ComponentChildren } from 'preact';
import { commonTexts } from '../../../../texts/common.ts';

interface PanelProps {
  readonly title: string;
  readonly onClose: () => void;
  readonly children: ComponentChildren;
}

/** A sheet beside the grid, with its title. Escape closes it. */
export function Panel({ title, onClose, children }: PanelProps) {
  return (
    <section
      class="side-panel arrives no-print"
      aria-label={title}
      onKeyDown={(event) => {
        if (event.key !== 'Escape' || event.defaultPrevented) return;
        event.preventDefault();
        onClose();
      }}
    >
      <div class="side-head">
        <h3>{title}</h3>
        <button type="button" onClick={onClose}>
          {commonTexts.close}
        </button>
      </div>
      {children}
    </section>
  );
}
