import { viewTexts as texts } from '../../../texts/product-view.ts';
import type { Pointed } from './pick-model.ts';
import type { ViewModel } from './view-model.ts';

/** The name of what the pointer is on, beside the pointer. */
export function PointedLabel({ pointed }: { readonly pointed: Pointed | null }) {
  if (!pointed) return null;
  return (
    <p class="pointed" style={{ left: `${Math.round(pointed.x)}px`, top: `${Math.round(pointed.y)}px` }}>
      {pointed.text}
    </p>
  );
}

/** What is picked in the view, and how to pick more. */
export function PickBar({ view }: { readonly view: ViewModel }) {
  const picked = view.picked.value.size;
  return (
    <div class="pick-bar no-print">
      <p class="unseen" aria-live="polite">
        {view.announcement.value}
      </p>
      {view.pickable.value === 'pieces' && (
        <>
          {picked > 0 && <p>{texts.pickedPieces(picked)}</p>}
          <button type="button" aria-pressed={view.lassoing.value} onClick={() => view.setLasso(!view.lassoing.value)}>
            {texts.lasso}
          </button>
          {picked > 0 && (
            <>
              <button
                type="button"
                aria-pressed={view.adding.value}
                onClick={() => {
                  view.adding.value = !view.adding.value;
                }}
              >
                {texts.addMore}
              </button>
              <button type="button" onClick={() => void view.pickAllAlike()}>
                {texts.allAlike}
              </button>
              <button type="button" onClick={() => void view.pickPart()}>
                {texts.wholePart}
              </button>
              <button type="button" onClick={view.clearPicked}>
                {texts.clearChoice}
              </button>
            </>
          )}
        </>
      )}
      <p class="soft small">{view.lassoing.value ? texts.lassoHelp : texts.help}</p>
    </div>
  );
}
