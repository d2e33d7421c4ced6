Attribute VB_Name = "xlwings_udfs"
'Made by baybook; what xlwings imports itself takes the place of this module.
#Const App = "Microsoft Excel" 'Adjust when using outside of Excel
Function BAY_BLOCKING_HEIGHT(joist, drape, from_high_end, clear_run, Optional units)
    #If App = "Microsoft Excel" Then
        If TypeOf Application.Caller Is Range Then On Error GoTo failed
        BAY_BLOCKING_HEIGHT = XLPy.CallUDF("baybook.addin.udfs", "BAY_BLOCKING_HEIGHT", Array(joist, drape, from_high_end, clear_run, units), ThisWorkbook, Application.Caller)
        Exit Function
    #Else
        BAY_BLOCKING_HEIGHT = XLPy.CallUDF("baybook.addin.udfs", "BAY_BLOCKING_HEIGHT", Array(joist, drape, from_high_end, clear_run, units))
        Exit Function
    #End If
failed:
    BAY_BLOCKING_HEIGHT = Err.Description
End Function

Function BAY_CARTRIDGES(bead_length, Optional bead_diameter, Optional cartridge_fl_oz, Optional waste)
    #If App = "Microsoft Excel" Then
        If TypeOf Application.Caller Is Range Then On Error GoTo failed
        BAY_CARTRIDGES = XLPy.CallUDF("baybook.addin.udfs", "BAY_CARTRIDGES", Array(bead_length, bead_diameter, cartridge_fl_oz, waste), ThisWorkbook, Application.Caller)
        Exit Function
    #Else
        BAY_CARTRIDGES = XLPy.CallUDF("baybook.addin.udfs", "BAY_CARTRIDGES", Array(bead_length, bead_diameter, cartridge_fl_oz, waste))
        Exit Function
    #End If
failed:
    BAY_CARTRIDGES = Err.Description
End Function

Function BAY_CLEAR_RUN(projection, Optional ledger_thickness, Optional rim_plies, Optional thickness, Optional units)
    #If App = "Microsoft Excel" Then
        If TypeOf Application.Caller Is Range Then On Error GoTo failed
        BAY_CLEAR_RUN = XLPy.CallUDF("baybook.addin.udfs", "BAY_CLEAR_RUN", Array(projection, ledger_thickness, rim_plies, thickness, units), ThisWorkbook, Application.Caller)
        Exit Function
    #Else
        BAY_CLEAR_RUN = XLPy.CallUDF("baybook.addin.udfs", "BAY_CLEAR_RUN", Array(projection, ledger_thickness, rim_plies, thickness, units))
        Exit Function
    #End If
failed:
    BAY_CLEAR_RUN = Err.Description
End Function

Function BAY_COUNT(width, spacing, Optional layout, Optional thickness, Optional pack_gap)
    #If App = "Microsoft Excel" Then
        If TypeOf Application.Caller Is Range Then On Error GoTo failed
        BAY_COUNT = XLPy.CallUDF("baybook.addin.udfs", "BAY_COUNT", Array(width, spacing, layout, thickness, pack_gap), ThisWorkbook, Application.Caller)
        Exit Function
    #Else
        BAY_COUNT = XLPy.CallUDF("baybook.addin.udfs", "BAY_COUNT", Array(width, spacing, layout, thickness, pack_gap))
        Exit Function
    #End If
failed:
    BAY_COUNT = Err.Description
End Function

Function BAY_CUT_COUNTS(pieces, stock, Optional kerf, Optional end_trim, Optional offcut_min)
    #If App = "Microsoft Excel" Then
        If TypeOf Application.Caller Is Range Then On Error GoTo failed
        BAY_CUT_COUNTS = XLPy.CallUDF("baybook.addin.udfs", "BAY_CUT_COUNTS", Array(pieces, stock, kerf, end_trim, offcut_min), ThisWorkbook, Application.Caller)
        Exit Function
    #Else
        BAY_CUT_COUNTS = XLPy.CallUDF("baybook.addin.udfs", "BAY_CUT_COUNTS", Array(pieces, stock, kerf, end_trim, offcut_min))
        Exit Function
    #End If
failed:
    BAY_CUT_COUNTS = Err.Description
End Function

Function BAY_CUT_LENGTHS(clear_runs, high_lap, low_setback, Optional trim_allowance, Optional cut_step, Optional units)
    #If App = "Microsoft Excel" Then
        If TypeOf Application.Caller Is Range Then On Error GoTo failed
        BAY_CUT_LENGTHS = XLPy.CallUDF("baybook.addin.udfs", "BAY_CUT_LENGTHS", Array(clear_runs, high_lap, low_setback, trim_allowance, cut_step, units), ThisWorkbook, Application.Caller)
        Exit Function
    #Else
        BAY_CUT_LENGTHS = XLPy.CallUDF("baybook.addin.udfs", "BAY_CUT_LENGTHS", Array(clear_runs, high_lap, low_setback, trim_allowance, cut_step, units))
        Exit Function
    #End If
failed:
    BAY_CUT_LENGTHS = Err.Description
End Function

Function BAY_CUT_PLAN(pieces, stock, Optional kerf, Optional end_trim, Optional offcut_min, Optional units)
    #If App = "Microsoft Excel" Then
        If TypeOf Application.Caller Is Range Then On Error GoTo failed
        BAY_CUT_PLAN = XLPy.CallUDF("baybook.addin.udfs", "BAY_CUT_PLAN", Array(pieces, stock, kerf, end_trim, offcut_min, units), ThisWorkbook, Application.Caller)
        Exit Function
    #Else
        BAY_CUT_PLAN = XLPy.CallUDF("baybook.addin.udfs", "BAY_CUT_PLAN", Array(pieces, stock, kerf, end_trim, offcut_min, units))
        Exit Function
    #End If
failed:
    BAY_CUT_PLAN = Err.Description
End Function

Function BAY_FALL(drape, clear_run, Optional frame_fall, Optional units)
    #If App = "Microsoft Excel" Then
        If TypeOf Application.Caller Is Range Then On Error GoTo failed
        BAY_FALL = XLPy.CallUDF("baybook.addin.udfs", "BAY_FALL", Array(drape, clear_run, frame_fall, units), ThisWorkbook, Application.Caller)
        Exit Function
    #Else
        BAY_FALL = XLPy.CallUDF("baybook.addin.udfs", "BAY_FALL", Array(drape, clear_run, frame_fall, units))
        Exit Function
    #End If
failed:
    BAY_FALL = Err.Description
End Function

Function BAY_FEET_INCHES(length)
    #If App = "Microsoft Excel" Then
        If TypeOf Application.Caller Is Range Then On Error GoTo failed
        BAY_FEET_INCHES = XLPy.CallUDF("baybook.addin.udfs", "BAY_FEET_INCHES", Array(length), ThisWorkbook, Application.Caller)
        Exit Function
    #Else
        BAY_FEET_INCHES = XLPy.CallUDF("baybook.addin.udfs", "BAY_FEET_INCHES", Array(length))
        Exit Function
    #End If
failed:
    BAY_FEET_INCHES = Err.Description
End Function

Function BAY_FLOW(rainfall, plan_area, Optional wall_height, Optional wall_length, Optional roof_area, Optional wall_share, Optional units)
    #If App = "Microsoft Excel" Then
        If TypeOf Application.Caller Is Range Then On Error GoTo failed
        BAY_FLOW = XLPy.CallUDF("baybook.addin.udfs", "BAY_FLOW", Array(rainfall, plan_area, wall_height, wall_length, roof_area, wall_share, units), ThisWorkbook, Application.Caller)
        Exit Function
    #Else
        BAY_FLOW = XLPy.CallUDF("baybook.addin.udfs", "BAY_FLOW", Array(rainfall, plan_area, wall_height, wall_length, roof_area, wall_share, units))
        Exit Function
    #End If
failed:
    BAY_FLOW = Err.Description
End Function

Function BAY_GUTTER_CAPACITY(profile, fall, freeboard, Optional material, Optional units)
    #If App = "Microsoft Excel" Then
        If TypeOf Application.Caller Is Range Then On Error GoTo failed
        BAY_GUTTER_CAPACITY = XLPy.CallUDF("baybook.addin.udfs", "BAY_GUTTER_CAPACITY", Array(profile, fall, freeboard, material, units), ThisWorkbook, Application.Caller)
        Exit Function
    #Else
        BAY_GUTTER_CAPACITY = XLPy.CallUDF("baybook.addin.udfs", "BAY_GUTTER_CAPACITY", Array(profile, fall, freeboard, material, units))
        Exit Function
    #End If
failed:
    BAY_GUTTER_CAPACITY = Err.Description
End Function

Function BAY_GUTTER_PARTS(width, projection, spacing, joist, height, rainfall, nozzle_reach, Optional gutter_stick, Optional leader_stick, Optional gutter_fix, Optional leader_at, Optional own_rates, Optional units)
    #If App = "Microsoft Excel" Then
        If TypeOf Application.Caller Is Range Then On Error GoTo failed
        BAY_GUTTER_PARTS = XLPy.CallUDF("baybook.addin.udfs", "BAY_GUTTER_PARTS", Array(width, projection, spacing, joist, height, rainfall, nozzle_reach, gutter_stick, leader_stick, gutter_fix, leader_at, own_rates, units), ThisWorkbook, Application.Caller)
        Exit Function
    #Else
        BAY_GUTTER_PARTS = XLPy.CallUDF("baybook.addin.udfs", "BAY_GUTTER_PARTS", Array(width, projection, spacing, joist, height, rainfall, nozzle_reach, gutter_stick, leader_stick, gutter_fix, leader_at, own_rates, units))
        Exit Function
    #End If
failed:
    BAY_GUTTER_PARTS = Err.Description
End Function

Function BAY_GUTTER_RUN(nozzle_reach, Optional gutter_fall, Optional gutter_top_gap, Optional nozzle_in_gutter, Optional height_step, Optional units)
    #If App = "Microsoft Excel" Then
        If TypeOf Application.Caller Is Range Then On Error GoTo failed
        BAY_GUTTER_RUN = XLPy.CallUDF("baybook.addin.udfs", "BAY_GUTTER_RUN", Array(nozzle_reach, gutter_fall, gutter_top_gap, nozzle_in_gutter, height_step, units), ThisWorkbook, Application.Caller)
        Exit Function
    #Else
        BAY_GUTTER_RUN = XLPy.CallUDF("baybook.addin.udfs", "BAY_GUTTER_RUN", Array(nozzle_reach, gutter_fall, gutter_top_gap, nozzle_in_gutter, height_step, units))
        Exit Function
    #End If
failed:
    BAY_GUTTER_RUN = Err.Description
End Function

Function BAY_INCHES(length, Optional units)
    #If App = "Microsoft Excel" Then
        If TypeOf Application.Caller Is Range Then On Error GoTo failed
        BAY_INCHES = XLPy.CallUDF("baybook.addin.udfs", "BAY_INCHES", Array(length, units), ThisWorkbook, Application.Caller)
        Exit Function
    #Else
        BAY_INCHES = XLPy.CallUDF("baybook.addin.udfs", "BAY_INCHES", Array(length, units))
        Exit Function
    #End If
failed:
    BAY_INCHES = Err.Description
End Function

Function BAY_LEADER_CAPACITY(leader_size, Optional units)
    #If App = "Microsoft Excel" Then
        If TypeOf Application.Caller Is Range Then On Error GoTo failed
        BAY_LEADER_CAPACITY = XLPy.CallUDF("baybook.addin.udfs", "BAY_LEADER_CAPACITY", Array(leader_size, units), ThisWorkbook, Application.Caller)
        Exit Function
    #Else
        BAY_LEADER_CAPACITY = XLPy.CallUDF("baybook.addin.udfs", "BAY_LEADER_CAPACITY", Array(leader_size, units))
        Exit Function
    #End If
failed:
    BAY_LEADER_CAPACITY = Err.Description
End Function

Function BAY_MARGIN_PRICE(cost, margin)
    #If App = "Microsoft Excel" Then
        If TypeOf Application.Caller Is Range Then On Error GoTo failed
        BAY_MARGIN_PRICE = XLPy.CallUDF("baybook.addin.udfs", "BAY_MARGIN_PRICE", Array(cost, margin), ThisWorkbook, Application.Caller)
        Exit Function
    #Else
        BAY_MARGIN_PRICE = XLPy.CallUDF("baybook.addin.udfs", "BAY_MARGIN_PRICE", Array(cost, margin))
        Exit Function
    #End If
failed:
    BAY_MARGIN_PRICE = Err.Description
End Function

Function BAY_MARKUP_PRICE(cost, markup)
    #If App = "Microsoft Excel" Then
        If TypeOf Application.Caller Is Range Then On Error GoTo failed
        BAY_MARKUP_PRICE = XLPy.CallUDF("baybook.addin.udfs", "BAY_MARKUP_PRICE", Array(cost, markup), ThisWorkbook, Application.Caller)
        Exit Function
    #Else
        BAY_MARKUP_PRICE = XLPy.CallUDF("baybook.addin.udfs", "BAY_MARKUP_PRICE", Array(cost, markup))
        Exit Function
    #End If
failed:
    BAY_MARKUP_PRICE = Err.Description
End Function

Function BAY_OUTLET_TRIM(joist, made_for, Optional units)
    #If App = "Microsoft Excel" Then
        If TypeOf Application.Caller Is Range Then On Error GoTo failed
        BAY_OUTLET_TRIM = XLPy.CallUDF("baybook.addin.udfs", "BAY_OUTLET_TRIM", Array(joist, made_for, units), ThisWorkbook, Application.Caller)
        Exit Function
    #Else
        BAY_OUTLET_TRIM = XLPy.CallUDF("baybook.addin.udfs", "BAY_OUTLET_TRIM", Array(joist, made_for, units))
        Exit Function
    #End If
failed:
    BAY_OUTLET_TRIM = Err.Description
End Function

Function BAY_PANELS(bays, drape, side_lap, high_lap, low_setback, Optional trim_allowance, Optional cut_step, Optional units)
    #If App = "Microsoft Excel" Then
        If TypeOf Application.Caller Is Range Then On Error GoTo failed
        BAY_PANELS = XLPy.CallUDF("baybook.addin.udfs", "BAY_PANELS", Array(bays, drape, side_lap, high_lap, low_setback, trim_allowance, cut_step, units), ThisWorkbook, Application.Caller)
        Exit Function
    #Else
        BAY_PANELS = XLPy.CallUDF("baybook.addin.udfs", "BAY_PANELS", Array(bays, drape, side_lap, high_lap, low_setback, trim_allowance, cut_step, units))
        Exit Function
    #End If
failed:
    BAY_PANELS = Err.Description
End Function

Function BAY_PANEL_WIDTH(clear_width, drape, side_lap, Optional units)
    #If App = "Microsoft Excel" Then
        If TypeOf Application.Caller Is Range Then On Error GoTo failed
        BAY_PANEL_WIDTH = XLPy.CallUDF("baybook.addin.udfs", "BAY_PANEL_WIDTH", Array(clear_width, drape, side_lap, units), ThisWorkbook, Application.Caller)
        Exit Function
    #Else
        BAY_PANEL_WIDTH = XLPy.CallUDF("baybook.addin.udfs", "BAY_PANEL_WIDTH", Array(clear_width, drape, side_lap, units))
        Exit Function
    #End If
failed:
    BAY_PANEL_WIDTH = Err.Description
End Function

Function BAY_PIECES(cut_length, stock_length, Optional splice_lap, Optional min_piece, Optional units)
    #If App = "Microsoft Excel" Then
        If TypeOf Application.Caller Is Range Then On Error GoTo failed
        BAY_PIECES = XLPy.CallUDF("baybook.addin.udfs", "BAY_PIECES", Array(cut_length, stock_length, splice_lap, min_piece, units), ThisWorkbook, Application.Caller)
        Exit Function
    #Else
        BAY_PIECES = XLPy.CallUDF("baybook.addin.udfs", "BAY_PIECES", Array(cut_length, stock_length, splice_lap, min_piece, units))
        Exit Function
    #End If
failed:
    BAY_PIECES = Err.Description
End Function

Function BAY_PRICE_TABLE(lines, offers, Optional price_date, Optional currency_code)
    #If App = "Microsoft Excel" Then
        If TypeOf Application.Caller Is Range Then On Error GoTo failed
        BAY_PRICE_TABLE = XLPy.CallUDF("baybook.addin.udfs", "BAY_PRICE_TABLE", Array(lines, offers, price_date, currency_code), ThisWorkbook, Application.Caller)
        Exit Function
    #Else
        BAY_PRICE_TABLE = XLPy.CallUDF("baybook.addin.udfs", "BAY_PRICE_TABLE", Array(lines, offers, price_date, currency_code))
        Exit Function
    #End If
failed:
    BAY_PRICE_TABLE = Err.Description
End Function

Function BAY_RATE(key, Optional own_rates)
    #If App = "Microsoft Excel" Then
        If TypeOf Application.Caller Is Range Then On Error GoTo failed
        BAY_RATE = XLPy.CallUDF("baybook.addin.udfs", "BAY_RATE", Array(key, own_rates), ThisWorkbook, Application.Caller)
        Exit Function
    #Else
        BAY_RATE = XLPy.CallUDF("baybook.addin.udfs", "BAY_RATE", Array(key, own_rates))
        Exit Function
    #End If
failed:
    BAY_RATE = Err.Description
End Function

Function BAY_TAPE_LENGTH(width, projection, spacing, tape_width, Optional layout, Optional thickness, Optional gutter_side, Optional units)
    #If App = "Microsoft Excel" Then
        If TypeOf Application.Caller Is Range Then On Error GoTo failed
        BAY_TAPE_LENGTH = XLPy.CallUDF("baybook.addin.udfs", "BAY_TAPE_LENGTH", Array(width, projection, spacing, tape_width, layout, thickness, gutter_side, units), ThisWorkbook, Application.Caller)
        Exit Function
    #Else
        BAY_TAPE_LENGTH = XLPy.CallUDF("baybook.addin.udfs", "BAY_TAPE_LENGTH", Array(width, projection, spacing, tape_width, layout, thickness, gutter_side, units))
        Exit Function
    #End If
failed:
    BAY_TAPE_LENGTH = Err.Description
End Function

Function BAY_WHY(function_name, ParamArray arguments())
    Dim argsArray() As Variant
    argsArray = Array(function_name)
    ReDim Preserve argsArray(0 to UBound(arguments) - LBound(arguments) + 1)
    For k = LBound(arguments) To UBound(arguments)
    argsArray(1 + k - LBound(arguments)) = arguments(k)
    Next k
    #If App = "Microsoft Excel" Then
        If TypeOf Application.Caller Is Range Then On Error GoTo failed
        BAY_WHY = XLPy.CallUDF("baybook.addin.udfs", "BAY_WHY", argsArray, ThisWorkbook, Application.Caller)
        Exit Function
    #Else
        BAY_WHY = XLPy.CallUDF("baybook.addin.udfs", "BAY_WHY", argsArray)
        Exit Function
    #End If
failed:
    BAY_WHY = Err.Description
End Function

Function BAY_WIDTHS(width, spacing, Optional layout, Optional thickness, Optional pack_gap, Optional units)
    #If App = "Microsoft Excel" Then
        If TypeOf Application.Caller Is Range Then On Error GoTo failed
        BAY_WIDTHS = XLPy.CallUDF("baybook.addin.udfs", "BAY_WIDTHS", Array(width, spacing, layout, thickness, pack_gap, units), ThisWorkbook, Application.Caller)
        Exit Function
    #Else
        BAY_WIDTHS = XLPy.CallUDF("baybook.addin.udfs", "BAY_WIDTHS", Array(width, spacing, layout, thickness, pack_gap, units))
        Exit Function
    #End If
failed:
    BAY_WIDTHS = Err.Description
End Function

Sub BaybookHelpTexts()
    'Run once after importing this module: the function wizard then shows what each argument is.
    Application.MacroOptions Macro:="'" & ThisWorkbook.Name & "'!BAY_BLOCKING_HEIGHT", _
        Description:="Height left for blocking over the draped liner.", _
        Category:="baybook", _
        ArgumentDescriptions:=Array( _
        "joist size or depth [in, or text with a unit]", _
        "hang below the joist tops at the low end [in, or text with a unit]", _
        "of the bay to the block's centre [in, or text with a unit]", _
        "of the bay, from the ledger to the rim's inner face [in, or text with a unit]", _
        "of the result: us, metric; left out: us")
    Application.MacroOptions Macro:="'" & ThisWorkbook.Name & "'!BAY_CARTRIDGES", _
        Description:="Whole cartridges of sealant for a bead.", _
        Category:="baybook", _
        ArgumentDescriptions:=Array( _
        "of all bead [ft, or text with a unit]", _
        "of the sealant bead [in, or text with a unit]; left out: 0.25", _
        "in a cartridge; left out: 10.1", _
        "of sealant; left out: 10%")
    Application.MacroOptions Macro:="'" & ThisWorkbook.Name & "'!BAY_CLEAR_RUN", _
        Description:="Clear run of a bay, from the ledger's face to the rim's inner face.", _
        Category:="baybook", _
        ArgumentDescriptions:=Array( _
        "from the back of the ledger to the outer face of the rim [ft, or text with a unit]", _
        "of the ledger board [in, or text with a unit]; left out: 1.5", _
        "boards in the rim; left out: 1", _
        "of one ply [in, or text with a unit]; left out: 1.5", _
        "of the result: us, metric; left out: us")
    Application.MacroOptions Macro:="'" & ThisWorkbook.Name & "'!BAY_COUNT", _
        Description:="Bays of a deck area: the clear gaps between its joists.", _
        Category:="baybook", _
        ArgumentDescriptions:=Array( _
        "along the ledger [ft, or text with a unit]", _
        "joists on centre [in, or text with a unit]", _
        "where the spacing starts: left, right, even; left out: left", _
        "of one ply [in, or text with a unit]; left out: 1.5", _
        "a narrower gap between members is packed solid [in, or text with a unit]; left out: 1.5")
    Application.MacroOptions Macro:="'" & ThisWorkbook.Name & "'!BAY_CUT_COUNTS", _
        Description:="How many of each row of the stock the cheapest cut plan takes.", _
        Category:="baybook", _
        ArgumentDescriptions:=Array( _
        "columns: length to cut [in, or text with a unit], how many (left out: 1)", _
        "columns: length [in, or text with a unit], price, how many there are (blank: any), name", _
        "lost at every cut [in, or text with a unit]; left out: 0", _
        "cut off every stock piece first [in, or text with a unit]; left out: 0", _
        "a longer remainder is kept [in, or text with a unit]; left out: 24")
    Application.MacroOptions Macro:="'" & ThisWorkbook.Name & "'!BAY_CUT_LENGTHS", _
        Description:="Cut length of a panel for each clear run given.", _
        Category:="baybook", _
        ArgumentDescriptions:=Array( _
        "of the bays [in, or text with a unit]", _
        "lap up the ledger [in, or text with a unit]", _
        "the panel stops short of the low end by this [in, or text with a unit]", _
        "added to every panel, trimmed on site [in, or text with a unit]; left out: 3", _
        "cut lengths go up to the next multiple [in, or text with a unit]; left out: 0.5", _
        "of the result: us, metric; left out: us")
    Application.MacroOptions Macro:="'" & ThisWorkbook.Name & "'!BAY_CUT_PLAN", _
        Description:="The cheapest way to cut the pieces from the stock, as a table, with its proof.", _
        Category:="baybook", _
        ArgumentDescriptions:=Array( _
        "columns: length to cut [in, or text with a unit], how many (left out: 1)", _
        "columns: length [in, or text with a unit], price, how many there are (blank: any), name", _
        "lost at every cut [in, or text with a unit]; left out: 0", _
        "cut off every stock piece first [in, or text with a unit]; left out: 0", _
        "a longer remainder is kept [in, or text with a unit]; left out: 24", _
        "of the result: us, metric; left out: us")
    Application.MacroOptions Macro:="'" & ThisWorkbook.Name & "'!BAY_FALL", _
        Description:="Fall of a bay's bottom: the drape over the clear run, and the frame's own fall.", _
        Category:="baybook", _
        ArgumentDescriptions:=Array( _
        "hang below the joist tops at the low end [in, or text with a unit]", _
        "of the bay, from the ledger to the rim's inner face [in, or text with a unit]", _
        "the frame's own fall toward the low end [in/ft, or text with a unit]; left out: 0", _
        "of the result: us, metric; left out: us")
    Application.MacroOptions Macro:="'" & ThisWorkbook.Name & "'!BAY_FEET_INCHES", _
        Description:="A length as text in feet, inches and sixteenths.", _
        Category:="baybook", _
        ArgumentDescriptions:=Array( _
        "14' 3-1/2"" or 4.35 m [in, or text with a unit]")
    Application.MacroOptions Macro:="'" & ThisWorkbook.Name & "'!BAY_FLOW", _
        Description:="Flow of a steady rain off the deck, a wall above it and a roof that drips on it.", _
        Category:="baybook", _
        ArgumentDescriptions:=Array( _
        "design rain [in/h, or text with a unit]", _
        "of the deck [sq ft, or text with a unit]", _
        "of the wall that sheds on it [ft, or text with a unit]; left out: 0", _
        "of that wall [ft, or text with a unit]; left out: 0", _
        "of a roof that drips on the area, without a gutter [sq ft, or text with a unit]; left out: 0", _
        "of a wall's face that counts as area; left out: 0.5", _
        "of the result: us, metric; left out: us")
    Application.MacroOptions Macro:="'" & ThisWorkbook.Name & "'!BAY_GUTTER_CAPACITY", _
        Description:="What a gutter on a fall carries, with method and edition beside it.", _
        Category:="baybook", _
        ArgumentDescriptions:=Array( _
        "section: k-style 5 in, k-style 6 in, half-round 5 in, half-round 6 in", _
        "of the gutter [in/ft, or text with a unit]", _
        "kept free over the water [in, or text with a unit]", _
        "of the gutter; left out: smooth metal", _
        "of the result: us, metric; left out: us")
    Application.MacroOptions Macro:="'" & ThisWorkbook.Name & "'!BAY_GUTTER_PARTS", _
        Description:="Gutter, hangers, leaders and their parts for one plain deck, as a table.", _
        Category:="baybook", _
        ArgumentDescriptions:=Array( _
        "along the ledger [ft, or text with a unit]", _
        "from the back of the ledger to the outer face of the rim [ft, or text with a unit]", _
        "joists on centre [in, or text with a unit]", _
        "joist size or depth [in, or text with a unit]", _
        "joist tops above grade [ft, or text with a unit]", _
        "design rain [in/h, or text with a unit]", _
        "how far the outlet's nozzle reaches below the joist bottom [in, or text with a unit]", _
        "longest gutter on offer [ft, or text with a unit]; left out: 10", _
        "longest leader on offer [ft, or text with a unit]; left out: 10", _
        "hangers on the joist ends or on a nailer: joists, nailer; left out: joists", _
        "leaders at ends or in the middle: end, middle; left out: end", _
        "two columns: key and value of each rate that is not the default; left out: none", _
        "of the result: us, metric; left out: us")
    Application.MacroOptions Macro:="'" & ThisWorkbook.Name & "'!BAY_GUTTER_RUN", _
        Description:="Longest one-way run of a gutter along which every outlet's nozzle still stands in it.", _
        Category:="baybook", _
        ArgumentDescriptions:=Array( _
        "how far the outlet's nozzle reaches below the joist bottom [in, or text with a unit]", _
        "of the gutter [in/ft, or text with a unit]; left out: 0.0625", _
        "gutter top below joist bottom, at its high end [in, or text with a unit]; left out: 0.5", _
        "the nozzle stands this deep in the gutter [in, or text with a unit]; left out: 1", _
        "this area's joist bottoms above the lowest of its line [in, or text with a unit]; left out: 0", _
        "of the result: us, metric; left out: us")
    Application.MacroOptions Macro:="'" & ThisWorkbook.Name & "'!BAY_INCHES", _
        Description:="A length as people write it, as a number.", _
        Category:="baybook", _
        ArgumentDescriptions:=Array( _
        "14' 3-1/2"" or 4.35 m [in, or text with a unit]", _
        "of the result: us, metric; left out: us")
    Application.MacroOptions Macro:="'" & ThisWorkbook.Name & "'!BAY_LEADER_CAPACITY", _
        Description:="What a leader carries, with method and edition beside it.", _
        Category:="baybook", _
        ArgumentDescriptions:=Array( _
        "sides in inches, such as 2x3; one number is a round pipe", _
        "of the result: us, metric; left out: us")
    Application.MacroOptions Macro:="'" & ThisWorkbook.Name & "'!BAY_MARGIN_PRICE", _
        Description:="Price with profit as a share of the price.", _
        Category:="baybook", _
        ArgumentDescriptions:=Array( _
        "before profit", _
        "share of the price, 30% or 0.3 as a number")
    Application.MacroOptions Macro:="'" & ThisWorkbook.Name & "'!BAY_MARKUP_PRICE", _
        Description:="Price with profit as a share of the cost.", _
        Category:="baybook", _
        ArgumentDescriptions:=Array( _
        "before profit", _
        "share of the cost, 25% or 0.25 as a number")
    Application.MacroOptions Macro:="'" & ThisWorkbook.Name & "'!BAY_OUTLET_TRIM", _
        Description:="What is cut off a bay outlet that is made for a deeper joist; 0 if nothing.", _
        Category:="baybook", _
        ArgumentDescriptions:=Array( _
        "joist size or depth [in, or text with a unit]", _
        "joist depth the bay outlet is made for [in, or text with a unit]", _
        "of the result: us, metric; left out: us")
    Application.MacroOptions Macro:="'" & ThisWorkbook.Name & "'!BAY_PANELS", _
        Description:="A table of bays in, their panels out: width needed, cut length and fall of each.", _
        Category:="baybook", _
        ArgumentDescriptions:=Array( _
        "two columns: clear width and clear run [in, or text with a unit]", _
        "hang below the joist tops at the low end [in, or text with a unit]", _
        "lap on each joist [in, or text with a unit]", _
        "lap up the ledger [in, or text with a unit]", _
        "the panel stops short of the low end by this [in, or text with a unit]", _
        "added to every panel, trimmed on site [in, or text with a unit]; left out: 3", _
        "cut lengths go up to the next multiple [in, or text with a unit]; left out: 0.5", _
        "of the result: us, metric; left out: us")
    Application.MacroOptions Macro:="'" & ThisWorkbook.Name & "'!BAY_PANEL_WIDTH", _
        Description:="Width of liner that a bay needs: its V at the low end and a lap on each joist.", _
        Category:="baybook", _
        ArgumentDescriptions:=Array( _
        "of the bay, between two members [in, or text with a unit]", _
        "hang below the joist tops at the low end [in, or text with a unit]", _
        "lap on each joist [in, or text with a unit]", _
        "of the result: us, metric; left out: us")
    Application.MacroOptions Macro:="'" & ThisWorkbook.Name & "'!BAY_PIECES", _
        Description:="Pieces of one panel that is longer than the stock, upper first, one below the other.", _
        Category:="baybook", _
        ArgumentDescriptions:=Array( _
        "of the panel [in, or text with a unit]", _
        "longest stock on offer [in, or text with a unit]", _
        "lap of a splice, upper over lower [in, or text with a unit]; left out: 12", _
        "shortest piece of a spliced panel [in, or text with a unit]; left out: 36", _
        "of the result: us, metric; left out: us")
    Application.MacroOptions Macro:="'" & ThisWorkbook.Name & "'!BAY_PRICE_TABLE", _
        Description:="Lines priced from offers: the offer of least cost for the whole packs needed.", _
        Category:="baybook", _
        ArgumentDescriptions:=Array( _
        "columns: item, quantity with waste in the unit of the offers", _
        "first row the columns' names: supplier, sku, item, pack_qty, pack_price, currency, valid_from, valid_to", _
        "day whose prices count; left out: none", _
        "of the offers that count, such as USD; left out: none")
    Application.MacroOptions Macro:="'" & ThisWorkbook.Name & "'!BAY_RATE", _
        Description:="A rate in force: your own if your table has it, else the default.", _
        Category:="baybook", _
        ArgumentDescriptions:=Array( _
        "as in rates.csv, such as splice_lap_in", _
        "two columns: key and value of each rate that is not the default; left out: none")
    Application.MacroOptions Macro:="'" & ThisWorkbook.Name & "'!BAY_TAPE_LENGTH", _
        Description:="Seam tape along every member of a deck area, before waste.", _
        Category:="baybook", _
        ArgumentDescriptions:=Array( _
        "along the ledger [ft, or text with a unit]", _
        "from the back of the ledger to the outer face of the rim [ft, or text with a unit]", _
        "joists on centre [in, or text with a unit]", _
        "width of the seam tape [in, or text with a unit]", _
        "where the spacing starts: left, right, even; left out: left", _
        "of one ply [in, or text with a unit]; left out: 1.5", _
        "the low end: rim, ledger; left out: rim", _
        "of the result: us, metric; left out: us")
    Application.MacroOptions Macro:="'" & ThisWorkbook.Name & "'!BAY_WHY", _
        Description:="Why another of these functions refuses its arguments, in words; empty if it answers.", _
        Category:="baybook", _
        ArgumentDescriptions:=Array( _
        "in quotes, such as ""BAY_COUNT""", _
        "what that function is called with")
    Application.MacroOptions Macro:="'" & ThisWorkbook.Name & "'!BAY_WIDTHS", _
        Description:="Clear width of every bay, from the left end, one below the other.", _
        Category:="baybook", _
        ArgumentDescriptions:=Array( _
        "along the ledger [ft, or text with a unit]", _
        "joists on centre [in, or text with a unit]", _
        "where the spacing starts: left, right, even; left out: left", _
        "of one ply [in, or text with a unit]; left out: 1.5", _
        "a narrower gap between members is packed solid [in, or text with a unit]; left out: 1.5", _
        "of the result: us, metric; left out: us")
End Sub
