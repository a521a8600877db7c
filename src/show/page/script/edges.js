/* What is wider than its place fades at the edge behind which more of it lies. */

function markEdges(region) {
    const look = () => {
        const hidden = region.scrollWidth - region.clientWidth;
        region.classList.toggle("more-before", hidden > 1 && region.scrollLeft > 1);
        region.classList.toggle("more-after", hidden > 1 && region.scrollLeft < hidden - 1);
    };
    region.addEventListener("scroll", look, {passive: true});
    const sizes = new ResizeObserver(look);
    sizes.observe(region);
    for (const child of region.children)
        sizes.observe(child);
}
