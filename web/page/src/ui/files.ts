// Files that the page makes itself of what it shows.

export function saveBlob(name: string, blob: Blob) {
  const url = URL.createObjectURL(blob);
  const a = document.createElement("a");
  a.href = url;
  a.download = name;
  a.click();
  setTimeout(() => URL.revokeObjectURL(url), 1000);
}

export function saveJSON(name: string, doc: unknown) {
  saveBlob(name, new Blob([JSON.stringify(doc, null, 2) + "\n"], { type: "application/json" }));
}

// csv writes rows by RFC 4180.
export function csv(rows: readonly (readonly (string | number | null)[])[]): string {
  const cell = (v: string | number | null) => {
    const s = v === null ? "" : String(v);
    return /[",\r\n]/.test(s) ? `"${s.replaceAll('"', '""')}"` : s;
  };
  return rows.map((r) => r.map(cell).join(",") + "\r\n").join("");
}

export function saveCSV(name: string, rows: readonly (readonly (string | number | null)[])[]) {
  saveBlob(name, new Blob([csv(rows)], { type: "text/csv;charset=utf-8" }));
}

const looks = ["fill", "stroke", "stroke-width", "stroke-dasharray", "font-family", "font-size", "font-weight", "text-anchor", "dominant-baseline", "vector-effect"];

// picture is a drawing of the page on its own: with the colours and letters that the page gives it.
export function picture(svg: SVGSVGElement): { text: string; width: number; height: number } {
  const copy = svg.cloneNode(true) as SVGSVGElement;
  const from = [svg, ...svg.querySelectorAll("*")];
  [copy, ...copy.querySelectorAll("*")].forEach((e, i) => {
    const style = getComputedStyle(from[i] ?? svg);
    for (const k of looks) e.setAttribute(k, style.getPropertyValue(k));
    e.removeAttribute("class");
  });
  const { width, height } = svg.getBoundingClientRect();
  copy.setAttribute("xmlns", "http://www.w3.org/2000/svg");
  copy.setAttribute("width", String(width));
  copy.setAttribute("height", String(height));
  const paper = document.createElementNS("http://www.w3.org/2000/svg", "rect");
  const box = svg.viewBox.baseVal;
  for (const [k, v] of Object.entries({ x: box.x, y: box.y, width: box.width, height: box.height })) paper.setAttribute(k, String(v));
  paper.setAttribute("fill", getComputedStyle(document.documentElement).backgroundColor);
  copy.prepend(paper);
  return { text: new XMLSerializer().serializeToString(copy), width, height };
}

export function saveSVG(name: string, svg: SVGSVGElement) {
  saveBlob(name, new Blob([picture(svg).text], { type: "image/svg+xml" }));
}

const sharp = 2; // pixels to one of the page

export async function savePNG(name: string, svg: SVGSVGElement) {
  const p = picture(svg);
  const url = URL.createObjectURL(new Blob([p.text], { type: "image/svg+xml" }));
  try {
    const image = new Image();
    image.src = url;
    await image.decode();
    const canvas = document.createElement("canvas");
    canvas.width = Math.ceil(p.width * sharp);
    canvas.height = Math.ceil(p.height * sharp);
    canvas.getContext("2d")?.drawImage(image, 0, 0, canvas.width, canvas.height);
    const blob = await new Promise<Blob | null>((done) => canvas.toBlob(done));
    if (blob) saveBlob(name, blob);
  } finally {
    URL.revokeObjectURL(url);
  }
}
