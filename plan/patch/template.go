package patch

// sheetTemplate writes a drawing down; all arithmetic that is more than an offset is done in layOut.
const sheetTemplate = `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {{.Width}} {{.Height}}" width="{{.Width}}" height="{{.Height}}" font-family="Liberation Sans, DejaVu Sans, Arial, sans-serif" role="img" aria-label="{{e .Title}}: patch sheet">
<title>{{e .Title}}: patch sheet</title>
<rect width="{{.Width}}" height="{{.Height}}" fill="#fff"/>
<text x="30" y="42" font-size="26" font-weight="bold">{{e .Title}}</text>
<text x="30" y="68" font-size="14" fill="#333">{{e .Sub}}</text>
{{- define "box"}}
<rect x="{{.X}}" y="{{.Y}}" width="{{.Wide}}" height="{{.High}}" rx="4" fill="#f4f4f4" stroke="#000" stroke-width="1.5"/>
{{- end}}
{{- define "name"}}
{{- $b := .}}{{range $i, $n := .Name}}
<text x="{{add $b.X (half $b.Wide)}}" y="{{add $b.Y (half $b.High) (mul $i 18) -4}}" font-size="15" font-weight="bold" text-anchor="middle">{{e $n}}</text>
{{- end}}
<text x="{{add $b.X (half $b.Wide)}}" y="{{add $b.Y (half $b.High) (mul (len $b.Name) 18) -4}}" font-size="12" text-anchor="middle">{{$b.Foot}}</text>
{{- end}}
{{- range .Boxes}}{{template "box" .}}{{template "name" .}}{{end}}
{{- template "box" .Unit}}{{template "name" .Unit}}
{{- $d := .}}
{{- range .Lanes}}{{$l := .}}
<g>
<rect x="{{.CardX}}" y="{{.Y}}" width="{{.CardWide}}" height="{{.High}}" rx="4" fill="#fff" stroke="{{.Colour}}" stroke-width="2.5"{{if .Free}} stroke-dasharray="2 4"{{end}}/>
<rect x="{{.CardX}}" y="{{.Y}}" width="34" height="{{.High}}" fill="{{.Colour}}"/>
<rect x="{{add .CardX 4}}" y="{{add .Y 8}}" width="26" height="26" rx="13" fill="#fff"/>
<text x="{{add .CardX 17}}" y="{{add .Y 26}}" font-size="15" font-weight="bold" text-anchor="middle">{{.Number}}</text>
<text x="{{add .CardX 46}}" y="{{add .Y 24}}" font-size="16" font-weight="bold">{{e .Name}}</text>
{{- range .Text}}
<text x="{{.X}}" y="{{.Y}}" font-size="12"{{if .Bold}} font-weight="bold"{{end}}>{{e .Text}}</text>
{{- end}}
{{- range .Lines}}
<path d="M{{add $l.CardX $l.CardWide}} {{.Y}} H{{$d.BoxX}} M{{$d.FromBox}} {{.Y}} H{{$d.UnitX}}" fill="none" stroke="{{$l.Colour}}" stroke-width="3"{{if .Dash}} stroke-dasharray="{{.Dash}}"{{end}}/>
<rect x="{{add $d.BoxX -39}}" y="{{add .Y -10}}" width="20" height="20" rx="3" fill="#fff" stroke="#000"/>
<text x="{{add $d.BoxX -29}}" y="{{add .Y 5}}" font-size="13" font-weight="bold" text-anchor="middle">{{.Side}}</text>
<circle cx="{{$d.FromBox}}" cy="{{.Y}}" r="15" fill="#fff" stroke="#000" stroke-width="1.5"/>
<text x="{{$d.FromBox}}" y="{{add .Y 5}}" font-size="14" font-weight="bold" text-anchor="middle">{{.Output}}</text>
<circle cx="{{$d.UnitX}}" cy="{{.Y}}" r="15" fill="#fff" stroke="#000" stroke-width="1.5"/>
<text x="{{$d.UnitX}}" y="{{add .Y 5}}" font-size="14" font-weight="bold" text-anchor="middle">{{.Input}}</text>
<text x="{{add $d.FromBox 22}}" y="{{add .Y -5}}" font-size="12">{{e .FromPlug}}</text>
<text x="{{add $d.FromBox 22}}" y="{{add .Y 15}}" font-size="12">{{e .FromContact}}</text>
<text x="{{add $d.UnitX -22}}" y="{{add .Y -5}}" font-size="12" text-anchor="end">{{e .ToPlug}}</text>
<text x="{{add $d.UnitX -22}}" y="{{add .Y 15}}" font-size="12" text-anchor="end">{{e .ToContact}}</text>
<rect x="{{add (half (add $d.FromBox $d.UnitX)) -24}}" y="{{add .Y -10}}" width="48" height="20" rx="3" fill="#fff" stroke="{{$l.Colour}}" stroke-width="1.5"/>
<text x="{{half (add $d.FromBox $d.UnitX)}}" y="{{add .Y 5}}" font-size="13" font-weight="bold" text-anchor="middle">{{.Tag}}</text>
{{- end}}
</g>
{{- end}}
{{- with .Return}}{{$r := .}}
<g>
{{- template "box" .Box}}{{template "name" .Box}}{{template "box" .Track}}{{template "name" .Track}}
{{- range .Lines}}
<path d="{{.Path}}" fill="none" stroke="#fff" stroke-width="9"/>
<path d="{{.Path}}" fill="none" stroke="#000" stroke-width="3"{{if .Dash}} stroke-dasharray="{{.Dash}}"{{end}}/>
<path d="M{{$d.BoxX}} {{.Y}} H{{add $r.Track.X $r.Track.Wide 12}}" fill="none" stroke="#000" stroke-width="3"{{if .Dash}} stroke-dasharray="{{.Dash}}"{{end}}/>
<path d="M{{add $r.Track.X $r.Track.Wide}} {{.Y}} l14 -7 v14 z"/>
<path d="M{{add $d.FromBox 15}} {{.Y}} l14 -7 v14 z"/>
<circle cx="{{$d.FromBox}}" cy="{{.Y}}" r="15" fill="#fff" stroke="#000" stroke-width="1.5"/>
<text x="{{$d.FromBox}}" y="{{add .Y 5}}" font-size="14" font-weight="bold" text-anchor="middle">{{.Input}}</text>
<circle cx="{{$d.UnitRight}}" cy="{{.UnitY}}" r="13" fill="#fff" stroke="#000" stroke-width="1.5"/>
<text x="{{$d.UnitRight}}" y="{{add .UnitY 5}}" font-size="13" font-weight="bold" text-anchor="middle">{{.Side}}</text>
<text x="{{add $d.FromBox 36}}" y="{{add .Y -5}}" font-size="12">{{e .Plug}}</text>
<text x="{{add $d.FromBox 36}}" y="{{add .Y 15}}" font-size="12">{{e .Contact}}</text>
<text x="{{add $d.UnitX -22}}" y="{{add .Y -5}}" font-size="12" text-anchor="end">summing output {{.Side}}: {{e .OutPlug}}</text>
<text x="{{add $d.UnitX -22}}" y="{{add .Y 15}}" font-size="12" text-anchor="end">{{e .OutContact}}</text>
<rect x="{{add (half (add $d.FromBox $d.UnitX)) -28}}" y="{{add .Y -10}}" width="56" height="20" rx="3" fill="#fff" stroke="#000" stroke-width="1.5"/>
<text x="{{half (add $d.FromBox $d.UnitX)}}" y="{{add .Y 5}}" font-size="13" font-weight="bold" text-anchor="middle">{{.Tag}}</text>
{{- end}}
</g>
{{- end}}
{{- range .Sections}}
<text x="30" y="{{.Y}}" font-size="15" font-weight="bold">{{.Title}}</text>
{{- range .Text}}
<text x="{{.X}}" y="{{.Y}}" font-size="13">{{e .Text}}</text>
{{- end}}
{{- end}}
</svg>
`
