import { useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import type { View } from '../../../../server/core/picture/picture.ts';
import { formatKey } from '../../../format.ts';
import { Notice } from '../../../parts/form.tsx';
import { Picture } from '../../../parts/picture.tsx';
import { viewTexts as texts } from '../../../texts/product-view.ts';
import type { ProductModel } from '../product-model.ts';
import type { Row } from '../schedule/schedule-draft.ts';
import { CompareControls, PaneNames } from './compare-panes.tsx';
import { Dimensions } from './dimensions.tsx';
import { Elevations } from './elevation.tsx';
import { useFullScreen } from './full-screen.ts';
import { PickBar, PointedLabel } from './pick-bar.tsx';

const VIEWS: readonly View[] = ['front', 'three-quarter', 'side', 'back', 'top'];

/** Enlargement of the buttons. */
const ZOOM = 1.4;

/** The product as it is now, always in sight: to be turned, compared, measured and pointed at. */
export function ProductView({ model }: { readonly model: ProductModel }) {
  const { view, schedule } = model;
  const section = useRef<HTMLElement>(null);
  const full = useFullScreen(section);
  const row = schedule.selectedRow.value;
  const alt = row ? texts.variantAlt(row.name) : texts.original;
  const isStill = view.state.value === 'still';
  return (
    <section class={full.inWindow.value ? 'view in-window' : 'view'} aria-label={texts.section} ref={section}>
      <Stage model={model} row={row} alt={alt} />
      <p class="view-name">
        <span class="strong">{row ? row.name : texts.original}</span> {row && <span class="code soft">{row.code}</span>}
      </p>
      {isStill && <Notice text={view.problem.value} />}
      <div class="view-controls no-print">
        <fieldset>
          <legend class="unseen">{texts.directions}</legend>
          {VIEWS.map((name) => (
            <button type="button" key={name} aria-pressed={view.view.value === name} onClick={() => view.setView(name)}>
              {formatKey(name)}
            </button>
          ))}
        </fieldset>
        {!isStill && (
          <>
            <fieldset>
              <legend class="unseen">{texts.camera}</legend>
              <button type="button" onClick={view.fit}>
                {texts.fit}
              </button>
              <button type="button" onClick={() => view.zoom(ZOOM)}>
                {texts.zoomIn}
              </button>
              <button type="button" onClick={() => view.zoom(1 / ZOOM)}>
                {texts.zoomOut}
              </button>
            </fieldset>
            <fieldset>
              <legend class="unseen">{texts.shown}</legend>
              <Toggle
                label={texts.dimensions}
                on={view.dimensions.value}
                onChange={(on) => {
                  view.dimensions.value = on;
                }}
              />
              <Toggle
                label={texts.evenLight}
                hint={texts.evenLightHint}
                on={view.light.value === 'even'}
                onChange={(on) => view.setLight(on ? 'even' : 'studio')}
              />
              <CompareControls view={view} rows={schedule.draft.value.rows} shown={row?.key ?? null} />
            </fieldset>
          </>
        )}
        <button type="button" onClick={full.toggle}>
          {full.on.value ? texts.leaveFullScreen : texts.fullScreen}
        </button>
      </div>
      {!isStill && <PickBar view={view} />}
      {isStill && <Elevations model={model} />}
    </section>
  );
}

interface ToggleProps {
  readonly label: string;
  readonly hint?: string;
  readonly on: boolean;
  readonly onChange: (on: boolean) => void;
}

function Toggle({ label, hint, on, onChange }: ToggleProps) {
  return (
    <button type="button" aria-pressed={on} title={hint} onClick={() => onChange(!on)}>
      {label}
    </button>
  );
}

interface StageProps {
  readonly model: ProductModel;
  /** The variant of the pictures; null shows the original model. */
  readonly row: Row | null;
  readonly alt: string;
}

/** The canvas with the drawing over it; pictures until it is there, and where it cannot be. */
function Stage({ model, row, alt }: StageProps) {
  const { view } = model;
  const frame = useRef<HTMLDivElement>(null);
  useEffect(() => view.showIn(frame.current!), [view]);
  const isHere = view.frame.value === frame.current;
  const camera = view.camera.value;
  const box = model.survey.value?.box;
  const mount = model.product.value?.mount;
  const alone = view.others.value.length === 0;
  const isDrawn = isHere && view.drawn.value && camera !== null;
  return (
    <div class={view.light.value === 'even' ? 'stage even' : 'stage'}>
      <div class="live-canvas" ref={frame} />
      {!isDrawn && <Stills model={model} row={row} alt={alt} />}
      {isDrawn && (
        <div class="stage-drawing">
          {box && alone && view.dimensions.value && (
            <Dimensions box={box} camera={camera} stands={mount === 'floor' || mount === 'table'} />
          )}
          {!alone && <PaneNames view={view} row={row} camera={camera} />}
          <LassoLine line={view.lassoLine.value} />
          <PointedLabel pointed={view.pointed.value} />
        </div>
      )}
    </div>
  );
}

/** A first picture is small, because the view will soon take its place. */
const FIRST_PX = 256;

function Stills({ model, row, alt }: StageProps) {
  const { view, schedule, version } = model;
  const larger = useSignal(false);
  if (!schedule.loaded.value) return null;
  const isStill = view.state.value === 'still';
  const address = model.getPictureAddress(row, isStill ? (view.view.value ?? undefined) : undefined);
  const small = `${address}${address.includes('?') ? '&' : '?'}size=${FIRST_PX}`;
  return (
    <div class="live-still">
      <Picture
        address={isStill && larger.value ? address : small}
        alt={alt}
        version={version.value}
        onArrive={() => {
          larger.value = true;
        }}
      />
    </div>
  );
}

function LassoLine({ line }: { readonly line: readonly { readonly x: number; readonly y: number }[] }) {
  if (line.length < 2) return null;
  return (
    <svg class="lasso" aria-hidden="true">
      <polygon points={line.map(({ x, y }) => `${x},${y}`).join(' ')} />
    </svg>
  );
}
