// @ts-check
// Width of an element on the screen, for charts drawn in px.
import { signal } from "@preact/signals";
import { useEffect, useRef, useState } from "preact/hooks";

const column = matchMedia("(max-width: 700px)");
/** Whether all stands in one column. */
export const inColumn = signal(column.matches);
column.addEventListener("change", () => void (inColumn.value = column.matches));

/**
 * @param {number} first width until it is known
 * @returns {[{ current: any }, number]} reference to give to the element, and its width in px
 */
export function useWidth(first) {
  const box = useRef(null);
  const [width, setWidth] = useState(first);
  useEffect(() => {
    if (!box.current) return;
    const watch = new ResizeObserver(([entry]) => setWidth(Math.floor(entry.contentRect.width) || first));
    watch.observe(box.current);
    return () => watch.disconnect();
  }, [box.current]);
  return [box, width];
}
