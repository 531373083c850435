machine: home router
stock:
  thickness: 6 mm
  size: [120 mm, 80 mm]
cutters:
  1: flat 3.175
