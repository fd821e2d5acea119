import type { ComponentChildren } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import type { PreviewModel } from './preview-model.ts';

interface LivePlaceProps {
  readonly preview: PreviewModel;
  /** What stands here while the live preview is somewhere else, or cannot be had. */
  readonly children: ComponentChildren;
}

/** A place for the live preview. */
export function LivePlace({ preview, children }: LivePlaceProps) {
  const place = useRef<HTMLDivElement>(null);
  useEffect(() => preview.stand(place.current!), [preview]);
  const here = preview.state.value === 'live' && preview.holder.value === place.current;
  return (
    <div class="live">
      <div class="live-canvas" ref={place} />
      {!here && <div class="live-still">{children}</div>}
    </div>
  );
}
