// Every text that is seen, with the contrast of its colour to what lies behind it (WCAG 2.2, relative luminance). Of text in a
// figure, what lies behind is the last filled shape drawn before it under its middle, near its start or near its end.
(() => {
  const parse = (text) => {
    const parts = (text.match(/[\d.]+/g) || []).map(Number);
    return text === "none" || parts.length < 3 ? [0, 0, 0, 0] : [parts[0], parts[1], parts[2], parts[3] ?? 1];
  };
  const over = (top, under) => [0, 1, 2].map((i) => top[i] * top[3] + under[i] * (1 - top[3])).concat(1);
  const luminance = (colour) => {
    const [r, g, b] = colour.slice(0, 3).map((v) => v / 255).map((v) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4));
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const ratio = (a, b) => {
    const [x, y] = [luminance(a), luminance(b)].sort((p, q) => q - p);
    return (x + 0.05) / (y + 0.05);
  };
  const behindHtml = (element) => {
    const layers = [];
    for (let e = element; e; e = e.parentElement) layers.push(parse(getComputedStyle(e).backgroundColor));
    return layers.reverse().reduce((under, top) => over(top, under), [255, 255, 255, 1]);
  };
  const shapes = new Map();
  const shapesOf = (svg) => {
    if (!shapes.has(svg)) {
      const all = [...svg.querySelectorAll("*")];
      shapes.set(svg, all.map((element, place) => ({ element, place })).filter(({ element }) => element instanceof SVGGeometryElement).map((shape) => {
        const style = getComputedStyle(shape.element);
        const fill = parse(style.fill);
        fill[3] *= Number(style.fillOpacity) * Number(style.opacity);
        return { ...shape, fill, box: shape.element.getBoundingClientRect(), matrix: shape.element.getScreenCTM().inverse() };
      }).filter(({ fill }) => fill[3] > 0));
      all.forEach((element, place) => { element.place = place; });
    }
    return shapes.get(svg);
  };
  const behindSvg = (text, svg, x, y) => {
    let colour = behindHtml(svg.parentElement ?? svg);
    for (const shape of shapesOf(svg)) {
      const { box } = shape;
      if (shape.place > text.place) break;
      if (x < box.left || x > box.right || y < box.top || y > box.bottom) continue;
      if (shape.element.isPointInFill(new DOMPoint(x, y).matrixTransform(shape.matrix))) colour = over(shape.fill, colour);
    }
    return colour;
  };
  const found = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const node = walker.currentNode;
    const element = node.parentElement;
    if (!node.textContent.trim() || element.closest("script, style, title, desc")) continue;
    const range = document.createRange();
    range.selectNodeContents(node);
    const box = range.getBoundingClientRect();
    if (box.width === 0 || box.height === 0) continue;
    const style = getComputedStyle(element);
    const svg = element.closest("svg");
    if (svg) shapesOf(svg);
    const backs = svg
      ? [0.1, 0.5, 0.9].map((share) => behindSvg(element, svg, box.left + share * box.width, box.top + box.height / 2))
      : [behindHtml(element)];
    const ink = parse(svg ? style.fill : style.color);
    const contrast = Math.min(...backs.map((back) => ratio(over(ink, back), back)));
    found.push({ text: node.textContent.trim().slice(0, 60), contrast, inFigure: !!svg, px: box.height });
  }
  return found;
})()
