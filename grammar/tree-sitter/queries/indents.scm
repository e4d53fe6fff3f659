; Lines stand deeper than their entry, and the items of a list deeper than its line.
(entry) @indent @extend
(line items: (items)) @indent @extend
