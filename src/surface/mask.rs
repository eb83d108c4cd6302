//! Masks over grids: their parts, their holes, and the inside of a polygon.

/// The four-connected parts of a mask: a number a cell (0 none), and each part's area, from number 1.
pub(super) fn parts(mask: &[bool], width: usize) -> (Vec<u32>, Vec<usize>) {
    let mut number = vec![0u32; mask.len()];
    let mut areas = vec![0];
    let mut stack = Vec::new();
    for start in 0..mask.len() {
        if !mask[start] || number[start] != 0 {
            continue;
        }
        let own = areas.len() as u32;
        let mut area = 0;
        number[start] = own;
        stack.push(start);
        while let Some(i) = stack.pop() {
            area += 1;
            let x = i % width;
            let next = [
                (x > 0).then(|| i - 1),
                (x + 1 < width).then_some(i + 1),
                i.checked_sub(width),
                (i + width < mask.len()).then_some(i + width),
            ];
            for j in next.into_iter().flatten() {
                if mask[j] && number[j] == 0 {
                    number[j] = own;
                    stack.push(j);
                }
            }
        }
        areas.push(area);
    }
    (number, areas)
}

/// Fills what a mask encloses.
pub(super) fn fill_holes(mask: &mut [bool], width: usize) {
    let height = mask.len() / width;
    let outside: Vec<bool> = mask.iter().map(|&m| !m).collect();
    let (number, areas) = parts(&outside, width);
    let mut open = vec![false; areas.len()];
    for x in 0..width {
        open[number[x] as usize] = true;
        open[number[(height - 1) * width + x] as usize] = true;
    }
    for y in 0..height {
        open[number[y * width] as usize] = true;
        open[number[y * width + width - 1] as usize] = true;
    }
    for (m, n) in mask.iter_mut().zip(&number) {
        if *n != 0 && !open[*n as usize] {
            *m = true;
        }
    }
}

/// The cells whose centres lie in a polygon (even-odd rule), row by row.
pub(super) fn polygon_mask(polygon: &[[f64; 2]], width: usize, height: usize) -> Vec<bool> {
    let mut mask = vec![false; width * height];
    let mut crossings = Vec::new();
    for (y, row) in mask.chunks_exact_mut(width).enumerate() {
        let middle = y as f64 + 0.5;
        crossings.clear();
        for (k, p) in polygon.iter().enumerate() {
            let q = polygon[(k + 1) % polygon.len()];
            if (p[1] > middle) != (q[1] > middle) {
                crossings.push((q[0] - p[0]) * (middle - p[1]) / (q[1] - p[1]) + p[0]);
            }
        }
        crossings.sort_by(f64::total_cmp);
        for pair in crossings.chunks_exact(2) {
            let at = |v: f64| (v - 0.5).ceil().clamp(0.0, width as f64) as usize;
            row[at(pair[0])..at(pair[1])].fill(true);
        }
    }
    mask
}
