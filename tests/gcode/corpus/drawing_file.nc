<?xml version="1.0"?>
<svg xmlns="http://www.w3.org/2000/svg" width="120mm" height="80mm">
<path d="M0 0 L120 0 L120 80 Z"/>
</svg>
