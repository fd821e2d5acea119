import { useEffect, useRef } from 'preact/hooks';
import { Picture } from '../../../parts/picture.tsx';
import type { ProductModel } from '../product-model.ts';
import type { Row } from '../schedule/schedule-edit.ts';

interface LivePreviewProps {
  readonly model: ProductModel;
  /** The variant of the still picture; null shows the original model. */
  readonly row: Row | null;
  readonly alt: string;
}

/** A frame for the live preview. A still picture fills it while the preview is in another frame or not available. */
export function LivePreview({ model, row, alt }: LivePreviewProps) {
  const { preview, schedule } = model;
  const frame = useRef<HTMLDivElement>(null);
  useEffect(() => preview.showIn(frame.current!), [preview]);
  const isLive = preview.state.value === 'live' && preview.frame.value === frame.current;
  return (
    <div class="live">
      <div class="live-canvas" ref={frame} />
      {!isLive && (
        <div class="live-still">
          {schedule.loaded.value && (
            <Picture address={model.getPictureAddress(row)} alt={alt} version={model.version.value} />
          )}
        </div>
      )}
    </div>
  );
}
